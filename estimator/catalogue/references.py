"""Tables that every estimate reads besides the files its job names: sound, lumber, classes of estimates.

What finishes absorb, and the reverberation times to aim at: each row names its source and how far it was
checked. Coefficients are per octave 125 to 4000 Hz, without a unit; times are seconds.

Softwood lumber: the sizes it is planed to, and its density from its specific gravity. Source: PS 20-20,
American Softwood Lumber Standard; NDS Supplement 2018, section 3.1.3; each value in ``data/lumber.toml``
with how far it was checked.

The classes of an estimate's accuracy, as published, and what of a job defines it.
"""

import csv
import io
import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Annotated, Any, Literal

from pydantic import Field

from estimator.catalogue.shelf import DATA, on_shelf
from estimator.core.errors import Problem, refuse_all
from estimator.core.sources import Source
from estimator.core.units import Nm, factor, parse_length
from estimator.intake.structured import records
from estimator.job.document import read_document, validated
from estimator.job.fields import Key, Line, Many, Record

_NOMINAL = re.compile(r"\b([12])\s*[x×]\s*([2-8])\b(?! *(?:mm|cm|in))")


@cache
def lumber_facts(shelf: Path = DATA) -> Mapping[str, Any]:
    """Return the table of lumber on a shelf; without one, the shipped one."""
    return tomllib.loads(on_shelf("lumber.toml", shelf).read_text(encoding="utf-8"))


@cache
def dressed_sizes() -> Mapping[str, tuple[Nm, Nm]]:
    """Return thickness and width as planed, by nominal size such as ``2x4``; nanometres."""
    sizes = {k: (parse_length(t), parse_length(w)) for k, (t, w) in lumber_facts()["dressed"].items()}
    return MappingProxyType(sizes)


def nominal_size(description: str) -> str:
    """Return the nominal size that a description names, such as ``2x4``; '' where it names none."""
    found = _NOMINAL.search(description)
    return f"{found[1]}x{found[2]}" if found else ""


def density_kg_m3(
    gravity: float, moisture_percent: float | None = None, facts: Mapping[str, Any] | None = None
) -> float:
    """Return the density of wood, kg/m3: 62.4 G / (1 + 0.009 G M) x (1 + M / 100) lb/ft3.

    Args:
        gravity: specific gravity, weight and volume oven dry.
        moisture_percent: moisture content M, 0 to 30 %; left out, that of wood in a shop.
        facts: the table of lumber; left out, the shipped one.

    Source: NDS Supplement 2018, section 3.1.3.
    """
    facts = lumber_facts() if facts is None else facts
    moisture = facts["moisture_percent"] if moisture_percent is None else moisture_percent
    swollen = 1 + facts["swelling"] * gravity * moisture
    pounds = facts["water_lb_ft3"] * gravity / swollen * (1 + moisture / 100)
    return float(pounds * factor("lb/ft^3"))


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
    refuse_all(problems)
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


PercentNumber = Annotated[int, Field(ge=0, le=100)]
Range = Annotated[tuple[PercentNumber, PercentNumber], Field(strict=False)]


class Deliverable(Record):
    """Something known of a job; `share` is the part of the definition that it makes up, percent."""

    key: Key
    label: Line
    share: PercentNumber
    source: Line


class EstimateClass(Record):
    """A class: percent defined, and percent under (`low`) and over (`high`), narrow and wide end."""

    number: Annotated[int, Field(ge=1, le=5)]
    defined: Range
    low: Range
    high: Range
    needs: Many[Key] = ()
    """Deliverables without which this class is not claimed."""


class ClassPractice(Record):
    """A published practice: five classes, 5 (least known) first."""

    key: Key
    name: Line
    source: Line
    classes: Annotated[tuple[EstimateClass, ...], Field(strict=False, min_length=5, max_length=5)]


class EstimateClasses(Record):
    """The file, whole."""

    schema_: Literal[1] = Field(alias="schema")
    deliverables: Many[Deliverable] = Field(alias="deliverable")
    practices: Many[ClassPractice] = Field(alias="practice")

    def practice(self, key: str) -> ClassPractice:
        """Return the practice of that key.

        Raises:
            KeyError: there is none.
        """
        return {p.key: p for p in self.practices}[key]


@cache
def estimate_classes(shelf: Path = DATA) -> EstimateClasses:
    """Return the classes on a shelf; without one, the shipped ones."""
    path = on_shelf("estimate_classes.toml", shelf)
    return validated(EstimateClasses, read_document(path, path.name))


@dataclass(frozen=True, slots=True)
class References:
    """What finishes absorb, reverberation to aim at, facts of lumber, classes of estimates.

    Attributes:
        targets, masks: reverberation times to aim at, and the limits round them by name.
    """

    finishes: Mapping[str, Finish]
    targets: tuple[TargetRow, ...]
    masks: Mapping[str, tuple[MaskPoint, ...]]
    lumber: Mapping[str, Any]
    classes: EstimateClasses


@cache
def references(shelf: Path = DATA) -> References:
    """Return the tables on a shelf.

    Raises:
        InputError: a table that cannot be read.
    """
    return References(
        finishes(shelf), target_rows(shelf), masks(shelf), lumber_facts(shelf), estimate_classes(shelf)
    )
