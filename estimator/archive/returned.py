"""What a job really took, from the workbook that the office filled in: hours by task, cost by section.

Materials are what was paid to suppliers; labour is hours worked at the estimate's cost of an hour. Overhead
and other cost are not measured on a job: they stand as quoted, so that the margin earned can be held against
the margin quoted.
"""

from collections.abc import Mapping
from decimal import Decimal

from estimator.archive.events import Spent
from estimator.calc.expressions import Value
from estimator.core.errors import Problem, refuse
from estimator.core.money import rounded
from estimator.office.as_built import HOURS
from estimator.pipeline import Estimate

COSTS = "actual_costs.paid."
ZERO = Decimal(0)


def spent_of(inputs: Mapping[str, Value], estimate: Estimate) -> tuple[Spent, tuple[Problem, ...]]:
    """Return hours and costs as the office wrote them into a workbook's actuals, and what is missing.

    Args:
        inputs: of the workbook, by key.
        estimate: of the job with those inputs.

    Raises:
        InputError: no hours and no cost are filled in.
    """
    hours, costs = _filled(inputs, HOURS), _filled(inputs, COSTS)
    if not is_filled(inputs):
        raise refuse("Actuals", "no hours and no cost are filled in", "Fill in the workbook's sheet Actuals.")
    totals = estimate.totals
    labour = {"labour": rounded(_labour(hours, estimate))}
    quoted = {"other, as quoted": totals.other, "overhead, as quoted": totals.overhead}
    named = {key: amount for key, amount in {**costs, **labour, **quoted}.items() if amount}
    spent = Spent(tuple(hours.items()), tuple(named.items()))
    return spent, tuple(_missing(hours, costs, estimate))


def is_filled(inputs: Mapping[str, Value]) -> bool:
    """Return whether any hours or cost are filled in."""
    return any((*_filled(inputs, HOURS).values(), *_filled(inputs, COSTS).values()))


def _filled(inputs: Mapping[str, Value], head: str) -> dict[str, Decimal]:
    return {
        key.removeprefix(head): value
        for key, value in inputs.items()
        if key.startswith(head) and isinstance(value, Decimal)
    }


def _labour(hours: Mapping[str, Decimal], estimate: Estimate) -> Decimal:
    lines = estimate.scope.labour.workings[1]
    rates = dict(zip(lines["key"].values, lines["hour_cost"].values, strict=True))
    found = ((spent, rates.get(task)) for task, spent in hours.items())
    return sum((spent * rate for spent, rate in found if isinstance(rate, Decimal)), ZERO)


def _missing(hours: Mapping[str, Decimal], costs: Mapping[str, Decimal], estimate: Estimate) -> list[Problem]:
    sections = estimate.scope.takeoff.tables["sections"]
    rows = zip(sections["key"].values, sections["cost"].values, strict=True)
    unpaid = [str(name) for name, cost in rows if cost and str(name) not in costs]
    idle = [task for task, expected in estimate.scope.labour.hours.items() if expected and task not in hours]
    fix = "The cost and the margin earned are without them; file the workbook again when they are in."
    return [
        Problem("Actuals", f"{what}: {', '.join(names)}", fix, severity="warning")
        for what, names in (("nothing paid is filled in for", unpaid), ("no hours are filled in for", idle))
        if names
    ]
