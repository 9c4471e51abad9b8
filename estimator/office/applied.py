"""What the office changed, held against the job: between a job file and its estimate, or a repriced one."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

from estimator.calc.expressions import Value
from estimator.calc.tables import Book
from estimator.catalogue.load import AS_WRITTEN, Instead, load
from estimator.catalogue.records import Catalogue
from estimator.core.errors import InputError, Problem
from estimator.job.description import Job
from estimator.job.location import at_lines
from estimator.office.edits import (
    ALL,
    ASKED,
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

Edits = tuple[Edit, ...]


@dataclass(frozen=True, slots=True)
class Desk:
    """A job on the desk: read once, and estimated once with any set of edits.

    Attributes:
        path: the job file.
        job, catalogue, warnings: what was read from it.
    """

    path: Path
    job: Job
    catalogue: Catalogue
    warnings: tuple[Problem, ...]
    _made: dict[frozenset[tuple[str, Value]], Estimate] = field(default_factory=dict)

    def estimate(self, values: Mapping[str, Value]) -> Estimate:
        """Return the estimate with the office's values, by input key.

        Raises:
            InputError: problems that only show once the job is laid out or priced.
        """
        asked = frozenset(values.items())
        if asked not in self._made:
            self._made[asked] = estimate(self.job, self.catalogue, values)
        return self._made[asked]


@dataclass(frozen=True, slots=True)
class Applied:
    """An estimate with the office's edits in it.

    Attributes:
        desk: the job, to try other edits on.
        estimate: with the edits that hold.
        edits: those edits.
        problems: all there is to say: warnings of loading, that there are edits, and what the stages found.
    """

    desk: Desk
    estimate: Estimate
    edits: Edits
    problems: tuple[Problem, ...]


def opened(path: Path, instead: Instead = AS_WRITTEN) -> Desk:
    """Return the job of a file, `instead` in place of what it says.

    Raises:
        InputError: every problem of the job and the catalogue it names.
    """
    job, catalogue, warnings = load(path, instead=instead)
    return Desk(path, job, catalogue, tuple(warnings))


def values_of(edits: Edits) -> dict[str, Value]:
    """Return edits as the estimate takes them: the office's value by key."""
    return {edit.key: edit.now for edit in edits}


def settled_edits(desk: Desk, keep: Keep = ASKED) -> Edits:
    """Return the edits kept beside a job file that hold against the job as it is now.

    Args:
        desk: with the job; its edits file stands beside it.
        keep: who is right where job and office disagree.

    Raises:
        InputError: an edits file that cannot be read, and every conflict not decided.
    """
    kept = load_edits(edits_path(desk.path), desk.job.header.number)
    if not kept:
        return ()
    book = book_of(desk.estimate({}))
    return undisputed(kept, _as_the_job_says(desk, kept, book), keep, book)


def undisputed(edits: Edits, job: Mapping[str, Value], keep: Keep, book: Book) -> Edits:
    """Return the edits that hold against what the job says, by input key.

    Raises:
        InputError: every conflict not decided, each with the place in the workbook where a person finds it.
    """
    held, conflicts = settled(edits, job, keep)
    if not conflicts:
        return held
    places, keys = where_to_look(book), {edit.key for edit in edits}
    told = [replace(p, what=f"{places.get(p.where, '')} {p.what}".strip()) for p in conflicts]
    stray = (key for key in keep if key != ALL and key not in keys)
    raise InputError([*told, *(Problem("--keep", f"{key} is in no conflict", "Take its key from above.")
                               for key in stray)])  # fmt: skip


def _as_the_job_says(desk: Desk, kept: Edits, book: Book) -> dict[str, Value]:
    """Return every input as the job alone gives it.

    An input that exists only because of other edits (a frame more, as the office wants narrower ones) is
    as it was when it was edited: the job says nothing of it.
    """
    inputs = inputs_of(book)
    if all(edit.key in inputs for edit in kept):
        return inputs
    edited = inputs_of(book_of(desk.estimate(values_of(kept))))
    return {**{e.key: e.was for e in kept if e.key in edited}, **inputs}


def notice(path: Path, edits: Edits) -> tuple[Problem, ...]:
    """Return the warning that goes with an estimate in which edits stand over the job file; () without."""
    if not edits:
        return ()
    what = f"{len(edits)} input{'s' if len(edits) > 1 else ''} as the office changed them, not as in the job"
    fix = "Delete an entry there to go back to the job file's value."
    return (Problem(edits_path(path).name, what, fix, severity="warning"),)


def applied(path: Path, keep: Keep = ASKED, instead: Instead = AS_WRITTEN) -> Applied:
    """Return the estimate of a job file with the edits kept beside it.

    Args:
        path: the job file.
        keep: who is right where job and office disagree.
        instead: what takes the place of what the file says.

    Raises:
        InputError: problems of job, catalogue or edits file, and every conflict not decided.
    """
    desk = opened(path, instead)
    with at_lines(path) as place:
        edits = settled_edits(desk, keep)
        result = desk.estimate(values_of(edits))
    problems = (*desk.warnings, *notice(path, edits), *place(result.problems))
    return Applied(desk, result, edits, problems)


def decided(path: Path, keep: Keep) -> Applied:
    """Return the estimate of a job file; where `keep` decides a conflict, the decision is kept beside it.

    Raises:
        InputError: as `applied`.
        OSError: the edits file cannot be written.
    """
    found, file = applied(path, keep), edits_path(path)
    number = found.desk.job.header.number
    if keep and file.exists() and load_edits(file, number) != found.edits:
        save_edits(file, found.edits, number)
    return found


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
