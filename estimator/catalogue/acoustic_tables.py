"""Tables of room acoustics: what finishes absorb, and the reverberation times to aim at.

Each row names its source and how far it was checked. Coefficients are per octave 125 to 4000 Hz, without
a unit; times are seconds.
"""

import csv
import io
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import MappingProxyType

from estimator.catalogue.shelf import DATA, on_shelf
from estimator.core.errors import InputError, Problem
from estimator.core.sources import Source
from estimator.intake.structured import records

OCTAVES_HZ = (125, 250, 500, 1000, 2000, 4000)
LARGEST_ALPHA = 1.5


@dataclass(frozen=True, slots=True)
class Finish:
    """What a finish absorbs per octave 125..4000 Hz."""

    key: str
    description: str
    alpha: tuple[float, float, float, float, float, float]
    source: Source


@dataclass(frozen=True, slots=True)
class MaskPoint:
    """Limits at a frequency, straight between points over the logarithm of frequency.

    Attributes:
        kind: 'add' to the nominal time, 'factor' of it, or 'limit' in seconds.
        low, high: None where there is no limit.
    """

    mask: str
    kind: str
    hz: float
    low: float | None
    high: float | None
    source: Source


@dataclass(frozen=True, slots=True)
class TargetRow:
    """A reverberation time to aim at, for volumes above `above_m3` up to `to_m3`.

    Attributes:
        law: 'cube-root' a (V / 100)^(1/3), 'log' a lg V + b, 'fixed' a.
        mask: name of the mask round it, '' for none.
        mean_hz: octaves whose mean must not pass it; empty where each octave is judged.
    """

    key: str
    description: str
    law: str
    a: float
    b: float
    above_m3: float
    to_m3: float
    mask: str
    mean_hz: tuple[int, ...]
    source: Source


def _rows(name: str, shelf: Path) -> Iterator[dict[str, str]]:
    text = on_shelf(name, shelf).read_text(encoding="utf-8")
    yield from csv.DictReader(io.StringIO(text))


def _source(row: Mapping[str, str]) -> Source:
    return Source(row["source"], row["verified"])


def _coefficient(row: Mapping[str, str], hz: int) -> float:
    value = float(row[str(hz)])
    if not 0 <= value <= LARGEST_ALPHA:
        raise ValueError(f"{value:g} at {hz} Hz is out of range")
    return value


def _finish(row: Mapping[str, str]) -> Finish:
    a, b, c, d, e, f = (_coefficient(row, hz) for hz in OCTAVES_HZ)
    return Finish(row["key"], row["description"], (a, b, c, d, e, f), _source(row))


def read_finishes(text: str, file: str = "") -> dict[str, Finish]:
    """Return the finishes of a CSV table ``key,description,125,…,4000,source,verified``.

    Args:
        text: the table.
        file: its name, for messages.

    Raises:
        InputError: columns that are missing, a coefficient outside 0 to 1.5, or a key given twice.
    """
    columns = ["key", "description", *map(str, OCTAVES_HZ), "source", "verified"]
    found: dict[str, Finish] = {}
    problems = []
    for line, row in records(text, file, columns):
        try:
            finish = _finish(row)
        except (TypeError, ValueError) as error:
            fix = f"Give six numbers from 0 to {LARGEST_ALPHA}."
            problems.append(Problem(row["key"], str(error), fix, file, line))
            continue
        if finish.key in found:
            problems.append(Problem(finish.key, "is given twice", "Keep one.", file, line))
        found[finish.key] = finish
    if problems:
        raise InputError(problems)
    return found


@cache
def finishes(shelf: Path = DATA) -> Mapping[str, Finish]:
    """Return the finishes on a shelf, by key; without one, those that come with the program."""
    text = on_shelf("absorption.csv", shelf).read_text(encoding="utf-8")
    return MappingProxyType(read_finishes(text, "absorption.csv"))


def _number(text: str) -> float | None:
    return float(text) if text else None


@cache
def masks(shelf: Path = DATA) -> Mapping[str, tuple[MaskPoint, ...]]:
    """Return the tolerance masks by name, their points by rising frequency."""
    points = [
        MaskPoint(r["mask"], r["kind"], float(r["hz"]), _number(r["low"]), _number(r["high"]), _source(r))
        for r in _rows("reverberation_masks.csv", shelf)
    ]
    points.sort(key=lambda p: (p.mask, p.hz))
    return MappingProxyType({p.mask: tuple(q for q in points if q.mask == p.mask) for p in points})


@cache
def target_rows(shelf: Path = DATA) -> tuple[TargetRow, ...]:
    """Return every reverberation time to aim at, in the order of the table."""
    return tuple(
        TargetRow(
            key=r["key"],
            description=r["description"],
            law=r["law"],
            a=float(r["a"]),
            b=float(r["b"]),
            above_m3=float(r["above_m3"]),
            to_m3=float(r["to_m3"]),
            mask=r["mask"],
            mean_hz=tuple(int(hz) for hz in r["mean_hz"].split()),
            source=_source(r),
        )
        for r in _rows("reverberation_targets.csv", shelf)
    )
