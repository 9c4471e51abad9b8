"""Workbooks that come back when the job is done: what was spent, beside what was built.

Materials are what was paid to suppliers; labour is hours worked at the estimate's cost of an hour. Overhead
and other cost are not measured on a job: they stand as quoted, so that the margin earned can be held against
the margin quoted.
"""

from collections.abc import Iterator, Mapping
from decimal import Decimal, InvalidOperation
from pathlib import Path

from estimator.archive import files
from estimator.archive.billed import Row, rows_of
from estimator.archive.events import Event, Spent, in_force
from estimator.archive.index import accounts, contents
from estimator.archive.ledger import Place, existing
from estimator.archive.reopen import reopen
from estimator.archive.store import events_of, find_revision, paper_of
from estimator.calc.expressions import Value
from estimator.core.errors import BattenbookError, Problem, refuse, refuse_all
from estimator.core.money import rounded
from estimator.intake.files import text_of
from estimator.intake.structured import read_json, records
from estimator.labour.learning import Actual, actuals_beside
from estimator.office.edits import applied
from estimator.office.returned import HOURS, as_built, learned_from, open_elsewhere
from estimator.pipeline import Estimate

KINDS = {"hours": "hours", "hour": "hours", "cost": "costs", "costs": "costs"}
LARGEST = Decimal(10) ** 9
ReportedRow = tuple[str, str, str, object]


def load(path: Path) -> Spent:
    """Return the hours and costs in the file at `path`, which ends in .json or .csv.

    Raises:
        InputError: it cannot be read, or a row is no hours or cost of a name; every such row is named.
    """
    file, text = str(path), text_of(files.read_bytes(path), str(path))
    rows = list(_json_rows(text, file) if path.suffix.lower() == ".json" else _csv_rows(text, file))
    problems: list[Problem] = []
    read = [_amount(row, str(path), problems) for row in rows]
    if not rows:
        problems.append(Problem(str(path), "holds no hours and no cost", "Write one row at least."))
    refuse_all(problems)
    pairs = {kind: tuple((n, a) for k, n, a in read if k == kind) for kind in ("hours", "costs")}
    return Spent(pairs["hours"], pairs["costs"])


def _json_rows(text: str, file: str) -> Iterator[ReportedRow]:
    body = read_json(text, file, number=Decimal)
    if not isinstance(body, dict) or not all(isinstance(named, dict) for named in body.values()):
        raise refuse(file, "is not made of `hours` and `costs` by name", "Write each as an object.")
    for kind, named in body.items():
        for name, amount in named.items():
            yield f"{kind}.{name}", kind, name, amount


def _csv_rows(text: str, file: str) -> Iterator[ReportedRow]:
    for line, row in records(text, file, ("kind", "name", "amount")):
        yield f"row {line}", row["kind"], row["name"], row["amount"]


def _amount(row: ReportedRow, file: str, problems: list[Problem]) -> tuple[str, str, Decimal]:
    where, kind, name, value = row
    amount = Decimal(-1)
    if isinstance(value, str | int | Decimal) and not isinstance(value, bool):
        try:
            amount = Decimal(value)
        except InvalidOperation:
            amount = Decimal(-1)
    if not amount.is_finite() or not 0 <= amount <= LARGEST:
        problems.append(
            Problem(where, f"{value!r} is no amount", "Write a plain number, not negative.", file=file)
        )
    if kind.strip().lower() not in KINDS or not name.strip():
        problems.append(
            Problem(where, f"{kind!r} {name!r} is not known", "Write hours or cost, and a name.", file=file)
        )
    return KINDS.get(kind.strip().lower(), ""), name.strip(), amount


WORKBOOK = ".xlsx"


def reported(
    root: Path, number: str, revision: int | None, workbook: Path
) -> tuple[Spent | None, tuple[Row, ...], tuple[Problem, ...]]:
    """Return what a workbook says was spent on a filed quote, its invoices, and what it leaves out.

    Nothing spent (None) is fine where invoices are typed.

    Raises:
        InputError: no such quote, another job's workbook, or nothing is filled in.
        ArchiveError: what was filed is damaged.
    """
    opened = reopen(find_revision(root, number, revision)[1])
    built, inputs = as_built(opened.job, workbook, opened.instead)
    rows = rows_of(inputs)
    if rows and not is_filled(inputs):
        return None, rows, open_elsewhere(workbook)
    spent, problems = spent_of(inputs, built)
    return spent, rows, (*open_elsewhere(workbook), *problems)


def archived_actuals(root: Path) -> tuple[tuple[Actual, ...], tuple[Problem, ...]]:
    """Return hours and quantities of every filed quote whose actuals were reported, the last report of each.

    A quote that cannot be opened or estimated any more is left out, with a warning.

    Raises:
        ArchiveError: there is no archive.
    """
    place, found, problems = existing(root), list[Actual](), list[Problem]()
    for account in accounts(contents(root)):
        if account.actual_hours is None:
            continue
        try:
            actuals, unknown = _of_quote(place, account.number)
        except BattenbookError as error:
            what = f"teaches nothing: {error.problems[0].what}"
            problems.append(Problem(f"quote {account.number}", what, "", severity="warning"))
            continue
        found += actuals
        if unknown:
            what = f"hours of no labour task are passed over: {', '.join(unknown)}"
            fix = "Report hours by the keys of the labour file, or file the workbook."
            problems.append(Problem(f"quote {account.number}", what, fix, severity="warning"))
    return tuple(found), tuple(problems)


def _of_quote(place: Place, number: str) -> tuple[tuple[Actual, ...], list[str]]:
    event = [e for e in in_force(events_of(place, number)) if e.kind == "actual"][-1]
    opened = reopen(find_revision(place.root, number, event.revision)[1])
    if Path(event.file).suffix.lower() == WORKBOOK:
        return learned_from(opened.job, paper_of(place, event), opened.instead), []
    return _beside(event, applied(opened.job, instead=opened.instead).estimate)


def _beside(event: Event, built: Estimate) -> tuple[tuple[Actual, ...], list[str]]:
    book, spent = built.catalogue.labour, dict(event.spent.hours)
    unknown = [name for name in spent if name not in book.by_key]
    return actuals_beside(event.number, built.scope.labour, spent, book), unknown


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
    quoted = {"other, as quoted": totals.other + totals.at_cost, "overhead, as quoted": totals.overhead}
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
