"""Tables that every estimate reads besides the files its job names, as one record.

The classes of an estimate's accuracy, as published, and what of a job defines it.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import Field

from estimator.catalogue.acoustic_tables import Finish, MaskPoint, TargetRow, finishes, masks, target_rows
from estimator.catalogue.lumber import lumber_facts
from estimator.catalogue.shelf import DATA, on_shelf
from estimator.job.document import read_document, validated
from estimator.job.fields import Key, Line, Many, Record

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
