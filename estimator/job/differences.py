"""What two jobs say differently, key by key, as their files would say it."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any, TypeAlias

from estimator.core.units import Display, Nm, format_length, millimetres, parse_length
from estimator.job.description import Job
from estimator.job.fields import Record

Tree: TypeAlias = Mapping[str, "Tree"] | str | None
CALLED_BY = ("name", "text", "reason", "wall", "frames")
"""What tells one table of an array from another: the first of these that it has."""
MOST_SHOWN = 3


@dataclass(frozen=True, slots=True)
class Difference:
    """One key that differs: `was` and `now` as text, '' where one side does not say it."""

    where: str
    was: str
    now: str


def job_differences(before: Job, after: Job) -> tuple[Difference, ...]:
    """Return everything that two jobs say differently, in the file's order; lengths as `after` shows them.

    Tables of an array are matched by what they are called, so that a wall moved in the file is no
    difference. One that only one of the jobs has is one difference, told by its first few values.
    """
    display = after.header.display
    return tuple(_compared("", _tree(before, display), _tree(after, display)))


def _tree(value: object, display: Display, *, is_length: bool = False) -> Tree:
    if value is None or (isinstance(value, tuple | Mapping) and not value):
        return None
    if isinstance(value, Record):
        return _record(value, display)
    if isinstance(value, Mapping):
        return {f"[{k}]" if isinstance(v, Record) else f".{k}": _tree(v, display) for k, v in value.items()}
    if isinstance(value, tuple):
        return _many(value, display)
    if is_length and isinstance(value, int):
        return _length(value, display)
    return str(value).lower() if isinstance(value, bool) else str(value)


def _length(length: Nm, display: Display) -> str:
    """Return a length as the tape reads it, or in millimetres where the tape would round it."""
    text = format_length(length, display)
    sign, bare = (-1, text[1:]) if text.startswith("-") else (1, text)
    return text if sign * parse_length(bare) == length else f"{millimetres(length):g} mm"


def _record(record: Record, display: Display) -> Tree:
    lengths, found = _lengths(type(record)), dict[str, Tree]()
    for name, field in type(record).model_fields.items():
        key = field.alias or name
        found[f".{key}"] = _tree(getattr(record, name), display, is_length=key in lengths)
    return found


@cache
def _lengths(table: type[Record]) -> frozenset[str]:
    """Return the keys of a table that are written as text: a whole number read from one is a length."""
    forms = table.model_json_schema()["properties"]
    return frozenset(key for key, form in forms.items() if _written_as_text(form))


def _many(values: tuple[object, ...], display: Display) -> Tree:
    if not all(isinstance(v, Record) for v in values):
        return ", ".join(str(_tree(v, display)) for v in values)
    found: dict[str, Tree] = {}
    for number, value in enumerate(values):
        called = next((c for key in CALLED_BY if (c := getattr(value, key, None))), number)
        name = ", ".join(called) if isinstance(called, tuple) else str(called)
        found[f"[{name}]" if f"[{name}]" not in found else f"[{name} {number}]"] = _tree(value, display)
    return found


def _written_as_text(form: Mapping[str, Any]) -> bool:
    """Return whether a value may be written as text."""
    return any(f.get("type") == "string" for f in (form, *form.get("anyOf", ())))


def _compared(where: str, before: Tree, after: Tree) -> Iterator[Difference]:
    if before == after:
        return
    one_sided = where.endswith("]") and not (before and after)
    if one_sided or isinstance(before, str) or isinstance(after, str):
        yield Difference(where.removeprefix("."), _shown(before), _shown(after))
        return
    was, now = before or {}, after or {}
    for key in {**was, **now}:
        yield from _compared(f"{where}{key}", was.get(key), now.get(key))


def _shown(tree: Tree) -> str:
    """Return a value, or the first few of a table."""
    if tree is None or isinstance(tree, str):
        return tree or ""
    told = [f"{k[1:]} {v}" for k, v in tree.items() if isinstance(v, str) and k[1:] not in CALLED_BY[:3]]
    return ", ".join(told[:MOST_SHOWN]) or "there"
