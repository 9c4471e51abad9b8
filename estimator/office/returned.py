"""What a workbook brings back from the office: each change, where it stands, and what it moves."""

from dataclasses import dataclass
from pathlib import Path

from estimator.calc.expressions import Value
from estimator.catalogue.load import load
from estimator.core.errors import InputError
from estimator.office.applied import Applied, shown_where, values_of
from estimator.office.edits import Edit, Keep, inputs_of, merged, settled
from estimator.office.edits import changes as changed
from estimator.pipeline import Estimate, estimate
from estimator.tables.book import book_of
from estimator.workbook.readback import read_workbook, where_to_look

MOST_PRICED_ALONE = 12
"""Each edit's own effect takes an estimate of its own; with more edits only their sum is worked out."""


@dataclass(frozen=True, slots=True)
class Change:
    """One input that came back changed: where a person finds it, and what it moves the price by.

    Attributes:
        effect: on the price before tax, by this change alone; None where it was not worked out.
    """

    edit: Edit
    where: str
    effect: Value


def returned(
    before: Applied, workbook: Path, keep: Keep | None
) -> tuple[tuple[Change, ...], tuple[Edit, ...], Estimate]:
    """Return what a workbook brings back: each change, all edits now in force, and the estimate with them.

    Raises:
        InputError: every reason not to take the workbook, and every conflict not decided.
    """
    book, job = book_of(before.estimate), before.estimate.job
    back = read_workbook(workbook, book, job.header.number)
    new, conflicts = settled(changed(back.issued, back.inputs), inputs_of(book), keep)
    if conflicts:
        raise InputError(shown_where(conflicts, book))
    edits = merged(before.edits, new)
    catalogue = load(before.path)[1]
    after = estimate(job, catalogue, values_of(edits)) if edits != before.edits else before.estimate
    places = where_to_look(book)
    return tuple(
        Change(edit, places.get(edit.key, edit.key), _effect(before, edit, len(new))) for edit in new
    ), edits, after  # fmt: skip


def _effect(before: Applied, edit: Edit, count: int) -> Value:
    if count > MOST_PRICED_ALONE:
        return None
    _, catalogue, _ = load(before.path)
    values = {**values_of(before.edits), edit.key: edit.now}
    alone = estimate(before.estimate.job, catalogue, values)
    return alone.totals.price - before.estimate.totals.price
