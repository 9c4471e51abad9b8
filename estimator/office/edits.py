"""What the office changed: a small file beside the job, held against it for the next estimate.

``job.toml`` has ``job.edits.toml``: for each input the value the job gave and the value it has now.
"""

import datetime as dt
import json
import os
import shlex
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from pathlib import Path
from typing import Literal

from estimator.calc.expressions import Value
from estimator.calc.tables import Book, input_cells, written_by_office
from estimator.catalogue.load import AS_WRITTEN, Instead, load, shelf_of, sources
from estimator.catalogue.records import Catalogue
from estimator.catalogue.shelf import DATA
from estimator.core.errors import InputError, OutputError, Problem, refuse_all
from estimator.core.files import save
from estimator.core.money import as_typed, decimal
from estimator.intake.files import read_text
from estimator.intake.structured import read_toml
from estimator.job.description import Header, Job
from estimator.job.document import at_lines, with_header
from estimator.pipeline import Estimate, estimate
from estimator.tables.book import book_of
from estimator.workbook.readback import where_to_look

SCHEMA = 1
Side = Literal["office", "job"]
Keep = Mapping[str, Side]
"""Who is right where job and office disagree, by key; under `ALL` for every key that is not named."""
ALL = ""
ASKED: Keep = {}
"""Nobody has decided: a conflict is refused."""
_HEAD = """# What the office changed in the workbook: the value from the job file, and the value now.
# Delete an entry to go back to the job file's value.
schema = 1
"""


@dataclass(frozen=True, slots=True, order=True)
class Edit:
    """One input changed by the office.

    Attributes:
        key: ``table.field.row``.
        was: the value the job gave when the edit was made; None for a blank.
        now: the office's value; None for a blank.
    """

    key: str
    was: Value
    now: Value


def edits_path(job: Path) -> Path:
    """Return where the edits of a job file are kept: beside it; beside the real one, where it is a link."""
    real = job.resolve() if job.is_symlink() else job
    return real.with_name(f"{real.stem}.edits.toml")


def same(a: Value, b: Value) -> bool:
    """Return whether two inputs are equal: numbers to 15 digits, a blank like an empty text."""
    if isinstance(a, Decimal) and isinstance(b, Decimal):
        return decimal(a) == decimal(b)
    return (a if a != "" else None) == (b if b != "" else None)


def inputs_of(book: Book) -> dict[str, Value]:
    """Return every input of a book by key, spare cells as None."""
    return {k: f.values[i] if i < len(f.values) else None for k, f, i in input_cells(book)}


def changes(before: Mapping[str, Value], after: Mapping[str, Value]) -> tuple[Edit, ...]:
    """Return what differs between two sets of inputs, for the keys both have, in the order of `after`."""
    return tuple(
        Edit(key, before[key], now)
        for key, now in after.items()
        if key in before and not same(before[key], now)
    )


def _text(value: Value) -> str:
    return "empty" if value is None else str(value)


def settled(
    edits: Iterable[Edit], job: Mapping[str, Value], keep: Keep = ASKED
) -> tuple[tuple[Edit, ...], tuple[Problem, ...]]:
    """Return the edits that hold against the job as it is now, and the conflicts still to decide.

    An edit whose input the job has changed since is a conflict, unless both say the same; so is one
    whose row the job no longer has. `keep` decides: 'office' keeps the edit over the job's new value
    (a row that is gone stays gone), 'job' drops it.

    Args:
        edits: what the office changed.
        job: every input as the job alone gives it, without edits.
        keep: who is right in a conflict.
    """
    held: list[Edit] = []
    open_: list[Problem] = []
    for edit in edits:
        gone = edit.key not in job and not written_by_office(edit.key.rpartition(".")[2])
        current = job.get(edit.key)
        if not gone and same(current, edit.now):
            continue
        if not gone and same(current, edit.was):
            held.append(edit)
        elif (side := keep.get(edit.key, keep.get(ALL))) == "office" and not gone:
            held.append(Edit(edit.key, current, edit.now))
        elif side is None:
            said = "no longer has it" if gone else f"now says {_text(current)}"
            what = f"was {_text(edit.was)}; the office says {_text(edit.now)}, the job file {said}"
            open_.append(Problem(edit.key, what, _fix(edit.key)))
    return tuple(held), tuple(open_)


def _fix(key: str) -> str:
    one = shlex.quote(key)
    return f"Decide with --keep {one}=office or --keep {one}=job; --keep office or --keep job decides all."


def merged(kept: Iterable[Edit], new: Iterable[Edit]) -> tuple[Edit, ...]:
    """Return earlier edits with new ones over them; the job's value stays the one first noted."""
    found = {edit.key: edit for edit in kept}
    for edit in new:
        was = found[edit.key].was if edit.key in found else edit.was
        found[edit.key] = Edit(edit.key, was, edit.now)
    return tuple(sorted((e for e in found.values() if not same(e.was, e.now)), key=lambda e: e.key))


def _toml(value: Value) -> str:
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(value, dt.date):
        return value.isoformat()
    return f"{value:f}"


def edits_text(edits: Iterable[Edit], job_id: str) -> str:
    """Return the text of an edits file."""
    lines = [_HEAD + f"job_id = {_toml(job_id)}"]
    for edit in edits:
        lines.append(f"\n[edits.{_toml(edit.key)}]")
        lines += [f"{n} = {_toml(v)}" for n, v in (("was", edit.was), ("now", edit.now)) if v is not None]
    return "\n".join(lines) + "\n"


def save_edits(path: Path, edits: Iterable[Edit], job_id: str) -> None:
    """Write an edits file, whole or not at all.

    Raises:
        OSError: the folder cannot be written to.
    """
    save(path, edits_text(edits, job_id).encode(), force=True)


def _entry(path: Path, key: str, body: object) -> tuple[list[Edit], list[Problem]]:
    wrong = "Write was and now as a number, a text or a date; leave one out for an empty cell."
    if not isinstance(body, dict) or not body or set(body) - {"was", "now"}:
        return [], [Problem(key, "is no edit", wrong, file=str(path))]
    values: dict[str, Value] = {}
    for name, value in body.items():
        number = isinstance(value, int) and not isinstance(value, bool)
        plain = Decimal(value) if number else value
        day = isinstance(plain, dt.date) and not isinstance(plain, dt.datetime)
        finite = isinstance(plain, Decimal) and plain.is_finite()
        if not (isinstance(plain, str) or day or finite):
            return [], [Problem(f"{key}.{name}", f"{value!r} is no value of a cell", wrong, file=str(path))]
        values[name] = plain
    return [Edit(key, values.get("was"), values.get("now"))], []


def load_edits(path: Path, job_id: str) -> tuple[Edit, ...]:
    """Return the edits in a file; () where there is no file.

    Raises:
        InputError: no TOML, another job's edits, or entries that are no edits: all of them.
    """
    if not path.exists():
        return ()
    body = read_toml(read_text(path, str(path)), str(path), number=as_typed)
    if body.get("schema") != SCHEMA or body.get("job_id") != job_id:
        what = f"holds edits of job {body.get('job_id')}, schema {body.get('schema')}, not of {job_id}"
        raise InputError([Problem(path.name, what, "Move it away.", file=str(path))])
    entries = body.get("edits", {})
    read = [_entry(path, key, one) for key, one in (entries.items() if isinstance(entries, dict) else ())]
    refuse_all([problem for _, wrong in read for problem in wrong])
    return tuple(edit for edits, _ in read for edit in edits)


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


def placed(
    job: Path, target: Path, changes: Mapping[str, object], edits: tuple[Edit, ...], number: str
) -> dict[Path, bytes]:
    """Return what a job file and the office's edits are to hold in their new place, by path.

    Args:
        job: the job file as it is.
        target: its new place.
        changes: keys of ``[job]``, each with what it holds there.
        edits: that hold there. Without any, edits that lie there already are emptied.
        number: the job's number there.

    Raises:
        OutputError: the new place is the old one.
    """
    if target.resolve() == job.resolve():
        what, fix = "is the job file that it is made from", "Name another folder or another number."
        raise OutputError([Problem(str(target), what, fix)])
    files = {target: with_header(read_text(job, str(job)), changes).encode()}
    beside = edits_path(target)
    if edits or beside.exists():
        files[beside] = edits_text(edits, number).encode()
    return files


def named_from(header: Header, base: Path, folder: Path) -> dict[str, str]:
    """Return the keys of ``[job]`` that name a file of the shop's, each as it is named from another folder.

    Args:
        header: of the job.
        base: the folder from which its names count.
        folder: the folder from which they are to count.
    """
    used = {**sources(header, base), "tables": shelf_of(header, base)}
    own = {key: path for key, path in used.items() if path != DATA and DATA not in path.parents}
    return {key: _from(folder.resolve(), path.resolve()) for key, path in own.items()}


def _from(folder: Path, path: Path) -> str:
    return Path(os.path.relpath(path, folder) if path.drive == folder.drive else path).as_posix()
