"""What a workbook brings back from the office: each change and what it moves; and the job as built."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

from estimator.calc.expressions import Value
from estimator.catalogue.load import AS_WRITTEN, Instead
from estimator.core.errors import InputError, Problem
from estimator.core.money import rounded
from estimator.intake.cells import FilledCells, cells_of
from estimator.labour.learning import Actual, actuals_beside
from estimator.office.edits import (
    Applied,
    Edit,
    Edits,
    Keep,
    inputs_of,
    merged,
    opened,
    undisputed,
    values_of,
)
from estimator.office.edits import changes as changed
from estimator.pipeline import Estimate
from estimator.tables.book import book_of
from estimator.workbook.readback import WorkbookReturn, read_inputs, read_workbook, where_to_look

PRICE = ("build_up.bu_price", "build_up.bu_price.0")
"""Keys of the price before tax: of the only case, or of the base."""
MOST_PRICED_ALONE = 24
"""Each change's own effect takes an estimate; of more than these only what they move together is told."""


@dataclass(frozen=True, slots=True)
class Effect:
    """What changes move: the price before tax, and the total with tax."""

    price: Decimal
    total: Decimal


@dataclass(frozen=True, slots=True)
class Change:
    """One input that came back changed: where a person finds it, and what it moves.

    Attributes:
        effect: of this change alone; None where there are too many to price one by one.
    """

    edit: Edit
    where: str
    effect: Effect | None


@dataclass(frozen=True, slots=True)
class Returned:
    """What a workbook brought back.

    Attributes:
        changes: in the order of the workbook.
        edits: all that are in force now.
        before, after: the estimate without the changes and with them.
        warnings: about the workbook.
    """

    changes: tuple[Change, ...]
    edits: Edits
    before: Estimate
    after: Estimate
    warnings: tuple[Problem, ...]

    @property
    def together(self) -> Effect:
        """Return what all changes move together: where one leans on another, not the sum of each alone."""
        return _moved(self.before, self.after)


def returned(before: Applied, workbook: FilledCells, keep: Keep, *, leave: bool = False) -> Returned:
    """Return what a workbook brings back.

    Args:
        before: the job with the edits kept so far.
        workbook: its cells, as the office saved it.
        keep: who is right where job and office disagree.
        leave: whether to go on without figures that were typed over formulas.

    Raises:
        InputError: every reason not to take the workbook, and every conflict not decided.
    """
    book, desk = book_of(before.estimate), before.desk
    back = read_workbook(workbook, book, desk.job.header.number, leave=leave)
    new = undisputed(changed(back.issued, back.inputs), inputs_of(book), keep, book)
    edits, places = merged(before.edits, new), where_to_look(book)
    found = tuple(
        Change(edit, places.get(edit.key, edit.key), _alone(before, edit, len(new))) for edit in new
    )
    after = desk.estimate(values_of(edits))
    other = tuple(_other_price(workbook.path, back, after, leave=leave))
    if any(problem.severity == "error" for problem in other):
        raise InputError(other)
    warnings = (*open_elsewhere(workbook.path), *back.notes, *other)
    return Returned(found, edits, before.estimate, after, warnings)


def _other_price(workbook: Path, back: WorkbookReturn, after: Estimate, *, leave: bool) -> Iterator[Problem]:
    """Yield what to say where the workbook shows another price than its own inputs come to.

    It is an error where its checks hold and the program has the same inputs: a formula in it is then another
    than was written, such as ``=5+0`` over a quantity. Else a plan is out of date, or the job changed.
    """
    shown = next((v for k, v in back.results.items() if k in PRICE), None)
    if not isinstance(shown, Decimal) or rounded(shown) == rounded(after.totals.price):
        return
    what = f"shows a price of {shown:,.2f}; from its inputs it is {after.totals.price:,.2f}, which is taken"
    now = inputs_of(book_of(after))
    alike = back.inputs.keys() == now.keys() and not changed(now, back.inputs)
    if back.looks or not alike:
        fix = "Read its checks: a plan may be out of date. Run estimate again for a new workbook."
        yield Problem(workbook.name, what, fix, severity="warning")
        return
    fix = (
        "A formula in it was changed: type the change into an input; --leave-overwritten goes on without it."
    )
    yield Problem(workbook.name, what, fix, severity="warning" if leave else "error")


def _alone(before: Applied, edit: Edit, count: int) -> Effect | None:
    if count > MOST_PRICED_ALONE:
        return None
    return _moved(before.estimate, before.desk.estimate(values_of(merged(before.edits, (edit,)))))


def _moved(before: Estimate, after: Estimate) -> Effect:
    old, new = before.totals, after.totals
    return Effect(new.price - old.price, new.total - old.total)


def open_elsewhere(workbook: Path) -> tuple[Problem, ...]:
    """Return a warning where another program has a workbook open: a file of its own lies beside it."""
    name = workbook.name
    if not any(workbook.with_name(lock).exists() for lock in (f".~lock.{name}#", f"~${name}")):
        return ()
    what = "is open in another program; what is not saved there is not read"
    return (Problem(name, what, "Save it there, and run this again.", severity="warning"),)


HOURS = "actual_hours.spent."
"""What the keys of hours as worked begin with."""


def as_built(
    job: Path, workbook: Path, instead: Instead = AS_WRITTEN
) -> tuple[Estimate, Mapping[str, Value]]:
    """Return the estimate of a job with every input of its workbook as the office left it, and those inputs.

    Args:
        job: the job file.
        workbook: of that job.
        instead: what takes the place of what the file says.

    Raises:
        InputError: every problem of the job, its catalogue or the workbook.
    """
    filled, desk = cells_of(workbook), opened(job, instead)
    inputs = read_inputs(filled, book_of(desk.estimate({})), desk.job.header.number)
    return desk.estimate(inputs), inputs


def learned_from(job: Path, workbook: Path, instead: Instead = AS_WRITTEN) -> tuple[Actual, ...]:
    """Return the hours that the office wrote into a job's workbook, beside the quantities as built.

    Raises:
        InputError: every problem of the job, its catalogue or the workbook.
    """
    built, inputs = as_built(job, workbook, instead)
    spent = {
        key.removeprefix(HOURS): value
        for key, value in inputs.items()
        if key.startswith(HOURS) and isinstance(value, Decimal)
    }
    return actuals_beside(built.job.header.number, built.scope.labour, spent, built.catalogue.labour)
