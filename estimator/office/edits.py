"""What the office changed: a small file beside the job, read by the next estimate.

``job.toml`` has ``job.edits.toml``: for each input the value the job gave and the value it has now.
"""

import datetime as dt
import json
import shlex
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Literal

from estimator.calc.expressions import Value
from estimator.calc.tables import Book, input_cells, written_by_office
from estimator.core.errors import InputError, Problem
from estimator.core.files import save
from estimator.core.money import as_typed, decimal
from estimator.intake.files import read_text
from estimator.intake.structured import read_toml

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
    problems = [problem for _, wrong in read for problem in wrong]
    if problems:
        raise InputError(problems)
    return tuple(edit for edits, _ in read for edit in edits)
