"""Workbooks that come back when the job is done: what was spent, beside what was built."""

from pathlib import Path

from estimator.archive.account import accounts
from estimator.archive.billed import Row, rows_of
from estimator.archive.events import Event, Spent, in_force
from estimator.archive.index import contents
from estimator.archive.invoices import events_of, paper_of
from estimator.archive.place import Place, existing
from estimator.archive.reopen import reopen
from estimator.archive.returned import is_filled, spent_of
from estimator.archive.store import find_revision
from estimator.core.errors import BattenbookError, Problem
from estimator.labour.actuals import actuals_beside
from estimator.labour.learning import Actual
from estimator.office.applied import applied
from estimator.office.as_built import as_built, learned_from
from estimator.office.returned import open_elsewhere
from estimator.pipeline import Estimate

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
