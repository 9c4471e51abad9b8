"""Whether the days still stand: the minutes they are planned for, as found and now, and what a trip costs."""

from collections.abc import Iterator
from decimal import Decimal

from estimator.calc.expressions import Expr
from estimator.calc.tables import Table
from estimator.core.money import rounded
from estimator.labour.day_plan import Planned, planned_minutes
from estimator.pipeline import Estimate, Scope, leeways_of


def days_as_run(estimate: Estimate) -> Table:
    """Return the minutes of every task that the days are planned for, and the leeway that is used up.

    Options are in it where the trips are priced as the days find them: the trips of an option are its own.
    """
    scope = estimate.scope
    basis, lines = scope.labour.inputs[0], scope.labour.workings[1]
    hours = [lines.of("hours", str(key)) for key in lines["key"].values]
    rows = list(_planned(estimate, scope, "", hours))
    if _priced_as_found(estimate):
        for n, (name, option) in enumerate(estimate.options.items()):
            worked = estimate.beside[2]
            quantity, each = worked["option_quantity"], worked["hours_each"]
            at = range(n * lines.count, (n + 1) * lines.count)
            rows += _planned(estimate, option, f"{name}|", [quantity.at(i) * each.at(i) for i in at])
    coats = scope.takeoff.tables["practice"]["coats"].at()
    found, crew = (int(estimate.catalogue.practice.number(key)) for key in ("coats", "crew"))
    return planned_minutes(rows, basis["min_per_hour"].at(), (found, coats), crew)


def _planned(estimate: Estimate, scope: Scope, head: str, hours: list[Expr]) -> Iterator[Planned]:
    rates, book = estimate.scope.labour.inputs[2], estimate.catalogue.labour.by_key
    for i, leeway in enumerate(leeways_of(scope, estimate.catalogue)):
        label = head + book[leeway.task].label
        yield Planned(head + leeway.task, label, leeway, hours[i], rates.of("crew", leeway.task))


def _priced_as_found(estimate: Estimate) -> bool:
    return estimate.job.header.visits is None


def days_said(estimate: Estimate) -> str:
    """Return what the check of the days is about: money where trips are priced as the days find them."""
    if not _priced_as_found(estimate):
        return "The days planned stand; the price is by the visits agreed (if not: run the program again)"
    lines = estimate.scope.labour.workings[1]
    trips = Decimal(max(estimate.scope.schedule.trips, 1))
    daily = {t.key for t in estimate.catalogue.labour.tasks if t.daily}
    cost = sum(
        (_money(lines.value("cost", i)) for i, k in enumerate(lines["key"].values) if k in daily), Decimal(0)
    )
    trip = f"{rounded(cost / trips)} {estimate.units.money}"
    return f"Trips priced are those of the days; one more or less is {trip} (if not: run the program again)"


def _money(value: object) -> Decimal:
    return value if isinstance(value, Decimal) else Decimal(0)
