"""The same scope for another client, another price date or another shop: the office's edits go along."""

from collections.abc import Mapping
from dataclasses import replace

from estimator.catalogue.load import Instead
from estimator.job.location import at_lines
from estimator.office.applied import Applied, notice, opened, values_of
from estimator.office.edits import inputs_of, settled
from estimator.tables.book import book_of


def repriced(before: Applied, changes: Mapping[str, object]) -> Applied:
    """Return a job estimated anew with some keys of ``[job]`` changed.

    The office's edits go along where what they were made to is as it was; where the new price list, terms,
    practice or rates say something else, these count, and a warning names each edit left behind.

    Raises:
        InputError: problems of the new files, or a currency other than the job's.
    """
    desk = opened(before.desk.path, Instead(dict(changes)))
    with at_lines(desk.path) as place:
        result = desk.estimate({})
        edits, behind = settled(before.edits, inputs_of(book_of(result))) if before.edits else ((), ())
        result = desk.estimate(values_of(edits))
    fix = "The new value counts; change it again in the new workbook."
    left = [replace(p, fix=fix, severity="warning") for p in behind]
    problems = (*desk.warnings, *notice(desk.path, edits), *left, *place(result.problems))
    return Applied(desk, result, edits, problems)
