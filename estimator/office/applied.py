"""What the office changed, held against the job: the step between a job file and its estimate."""

from dataclasses import dataclass, replace
from pathlib import Path

from estimator.calc.expressions import Value
from estimator.calc.tables import Book
from estimator.catalogue.load import AS_WRITTEN, Instead, load
from estimator.catalogue.records import Catalogue
from estimator.core.errors import InputError, Problem
from estimator.job.description import Job
from estimator.job.location import at_lines
from estimator.office.edits import (
    Edit,
    Keep,
    edits_path,
    inputs_of,
    load_edits,
    save_edits,
    settled,
)
from estimator.pipeline import Estimate, estimate
from estimator.tables.book import book_of
from estimator.workbook.readback import where_to_look


@dataclass(frozen=True, slots=True)
class Applied:
    """An estimate with the office's edits in it.

    Attributes:
        path: the job file.
        estimate: with the edits that hold.
        edits: those edits.
        warnings: of loading the job.
        problems: all there is to say: those warnings, that there are edits, and what the stages found.
    """

    path: Path
    estimate: Estimate
    edits: tuple[Edit, ...]
    warnings: tuple[Problem, ...]
    problems: tuple[Problem, ...]


def values_of(edits: tuple[Edit, ...]) -> dict[str, Value]:
    """Return edits as the estimate takes them: the office's value by key."""
    return {edit.key: edit.now for edit in edits}


def settled_edits(path: Path, job: Job, catalogue: Catalogue, keep: Keep | None = None) -> tuple[Edit, ...]:
    """Return the edits kept beside a job file that hold against the job as it is now.

    Args:
        path: the job file; its edits file stands beside it.
        job: what was read from it.
        catalogue: the prices and practice it is estimated with.
        keep: who is right where job and office disagree; None refuses.

    Raises:
        InputError: an edits file that cannot be read, and every conflict not decided.
    """
    kept = load_edits(edits_path(path), job.header.number)
    if not kept:
        return ()
    book = book_of(estimate(job, catalogue))
    held, conflicts = settled(kept, _as_the_job_says(job, catalogue, kept, book), keep)
    if conflicts:
        raise InputError(shown_where(conflicts, book))
    return held


def shown_where(conflicts: tuple[Problem, ...], book: Book) -> tuple[Problem, ...]:
    """Return conflicts told with the place in the workbook where a person finds each input."""
    places = where_to_look(book)
    return tuple(
        replace(p, what=f"{places[p.where]} {p.what}") if p.where in places else p for p in conflicts
    )


def _as_the_job_says(job: Job, catalogue: Catalogue, kept: tuple[Edit, ...], book: Book) -> dict[str, Value]:
    """Return every input as the job alone gives it.

    An input that exists only because of other edits (a frame more, as the office wants narrower ones) is
    as it was when it was edited: the job says nothing of it.
    """
    inputs = inputs_of(book)
    if all(edit.key in inputs for edit in kept):
        return inputs
    edited = inputs_of(book_of(estimate(job, catalogue, values_of(kept))))
    return {**{e.key: e.was for e in kept if e.key in edited}, **inputs}


def notice(path: Path, edits: tuple[Edit, ...]) -> tuple[Problem, ...]:
    """Return the warning that goes with an estimate in which edits stand over the job file; () without."""
    if not edits:
        return ()
    what = f"{len(edits)} input{'s' if len(edits) > 1 else ''} as the office changed them, not as in the job"
    fix = "Delete an entry there to go back to the job file's value."
    return (Problem(edits_path(path).name, what, fix, severity="warning"),)


def applied(path: Path, keep: Keep | None = None, instead: Instead = AS_WRITTEN) -> Applied:
    """Return the estimate of a job file with the edits kept beside it.

    Args:
        path: the job file.
        keep: who is right where job and office disagree; None refuses.
        instead: what takes the place of what the file says.

    Raises:
        InputError: problems of job, catalogue or edits file, and every conflict not decided.
    """
    job, catalogue, warnings = load(path, instead=instead)
    with at_lines(path) as place:
        edits = settled_edits(path, job, catalogue, keep)
        result = estimate(job, catalogue, values_of(edits))
    problems = (*warnings, *notice(path, edits), *place(result.problems))
    return Applied(path, result, edits, tuple(warnings), problems)


def decided(path: Path, keep: Keep | None) -> Applied:
    """Return the estimate of a job file; where `keep` decides a conflict, the decision is kept beside it.

    Raises:
        InputError: as `applied`.
        OSError: the edits file cannot be written.
    """
    found, file = applied(path, keep), edits_path(path)
    number = found.estimate.job.header.number
    if keep is not None and file.exists() and load_edits(file, number) != found.edits:
        save_edits(file, found.edits, number)
    return found
