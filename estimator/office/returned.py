"""What a workbook brings back from the office: each change, where it stands, and what it moves."""

from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

from estimator.core.errors import Problem
from estimator.office.applied import Applied, Edits, undisputed, values_of
from estimator.office.edits import Edit, Keep, inputs_of, merged
from estimator.office.edits import changes as changed
from estimator.pipeline import Estimate
from estimator.tables.book import book_of
from estimator.workbook.readback import read_workbook, where_to_look

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


def returned(before: Applied, workbook: Path, keep: Keep) -> Returned:
    """Return what a workbook brings back.

    Args:
        before: the job with the edits kept so far.
        workbook: as the office saved it.
        keep: who is right where job and office disagree.

    Raises:
        InputError: every reason not to take the workbook, and every conflict not decided.
    """
    book, desk = book_of(before.estimate), before.desk
    back = read_workbook(workbook, book, desk.job.header.number)
    new = undisputed(changed(back.issued, back.inputs), inputs_of(book), keep, book)
    edits, places = merged(before.edits, new), where_to_look(book)
    found = tuple(
        Change(edit, places.get(edit.key, edit.key), _alone(before, edit, len(new))) for edit in new
    )
    after = desk.estimate(values_of(edits))
    return Returned(found, edits, before.estimate, after, open_elsewhere(workbook))


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
