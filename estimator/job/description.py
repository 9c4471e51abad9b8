"""The job: everything a job file can say, as strict frozen records.

The file's keys are the attributes' aliases where they differ (``[[wall]]`` is `Job.walls`, ``make-up``
is `make_up`, ``from`` is `start`, ``to`` is `end`). Lengths are whole nanometres once read.
"""

import datetime as dt
from collections.abc import Mapping
from typing import Annotated, Literal, TypeAlias

from pydantic import Field

from estimator.core.units import Display
from estimator.job.description_pieces import Band, Cloud, Corner, MakeUp, Recess, Screen, Treatment
from estimator.job.description_room import Opening, Room
from estimator.job.fields import (
    NUMBER_PATTERN,
    Currency,
    FileName,
    Key,
    Line,
    Many,
    Money,
    Name,
    Prose,
    Record,
)

SCHEMA = 1
Piece: TypeAlias = Treatment | Corner | Recess | Screen | Cloud


class Difficulty(Record):
    """A factor on named tasks' hours, with its reason (stairs, occupied home, night work)."""

    factor: Annotated[float, Field(gt=0, le=10)]
    """What the hours are multiplied by."""
    reason: Line
    """Printed beside the hours."""
    tasks: Annotated[tuple[Key, ...], Field(strict=False, min_length=1, max_length=100)]
    """Keys of labour tasks, or "all"."""


class Header(Record):
    """Who the job is for, and with which prices, practice and terms it is worked out."""

    number: Annotated[str, Field(pattern=NUMBER_PATTERN, title="job number")]
    """The job's number: letters, digits, point, hyphen and underscore."""
    title: Line
    """As printed on the quote."""
    client: Line
    """As printed on the quote."""
    site: Line = "not given"
    """Where the work is."""
    date: dt.date
    """Date of the estimate."""
    start: dt.date | None = None
    """First day of work, where it is agreed: the plan gets dates, and each order the day it must go out."""
    currency: Currency
    """ISO 4217; the price list must be in the same."""
    display: Display = "imperial"
    """How lengths are shown; they may be written in either."""
    prices: FileName = "default"
    """A shipped price list ("default", "metric"), or the path of a CSV relative to this file."""
    practice: FileName = "default"
    """A shipped shop practice ("default", "metric"), or the path of a TOML file relative to this file."""
    terms: FileName = "default"
    """Shipped client terms, or the path of a TOML file relative to this file."""
    labour: FileName = "default"
    """The shipped labour rates, or the path of a TOML file relative to this file."""
    visits: Annotated[int, Field(ge=0, le=1000)] | None = None
    """Site visits, where they are agreed; otherwise worked out."""
    difficulty: Many[Difficulty] = ()
    """Factors on labour."""


class Colour(Record):
    """Which fabric and colour go on named frames or on a whole treatment or piece."""

    frames: Many[Name] = ()
    """Frames by name, such as "N1"; or name a `wall`."""
    wall: Name | None = None
    """A treatment or piece."""
    fabric: Key | None = None
    """Product of the price list; left out, the make-up's."""
    colour: Name | None = None
    """The dye lot's name."""


class Option(Record):
    """A named alternative, quoted beside the base."""

    name: Name
    """Unique among options; not "base"."""
    title: Line
    """As printed beside its price."""
    make_up: Mapping[Name, Name] = Field(default_factory=dict, alias="make-up")
    """For each make-up to change, the make-up that takes its place: ``{ standard = "deep" }``."""
    colour: Many[Colour] = ()
    """Colours that go over the base's."""
    band: Mapping[Name, Band] = Field(default_factory=dict)
    """For each treatment to change, its band."""
    finish: Mapping[Name, Key] = Field(default_factory=dict)
    """For each make-up to change, the paint on its casings."""
    drop: Many[Name] = ()
    """Treatments and pieces left out."""


class Allowance(Record):
    """A sum set aside in the quote for work that is not measured."""

    text: Line
    """What the sum is for."""
    amount: Money
    """In the job's currency, tax left out."""


class Remark(Record):
    """A sentence of the quote: an exclusion or a note."""

    text: Prose
    """As printed on the quote."""


class Job(Record):
    """A job file, whole."""

    schema_: Literal[1] = Field(alias="schema")
    """Version of the job file's form: 1."""
    header: Header = Field(alias="job")
    """The job itself."""
    room: Room
    """The room as surveyed."""
    make_ups: Annotated[Mapping[Name, MakeUp], Field(min_length=1, max_length=50)] = Field(alias="make-up")
    """Named build-ups."""
    walls: Many[Treatment] = Field(default=(), alias="wall")
    """Treatments of walls."""
    corners: Many[Corner] = Field(default=(), alias="corner")
    """Corner traps."""
    recesses: Many[Recess] = Field(default=(), alias="recess")
    """Boxes in window recesses."""
    screens: Many[Screen] = Field(default=(), alias="screen")
    """Screens on feet."""
    clouds: Many[Cloud] = Field(default=(), alias="cloud")
    """Clouds below the ceiling."""
    colours: Many[Colour] = Field(default=(), alias="colour")
    """Fabrics and colours other than the make-ups'."""
    options: Many[Option] = Field(default=(), alias="option")
    """Alternatives quoted beside the base."""
    allowances: Many[Allowance] = Field(default=(), alias="allowance")
    """Sums set aside."""
    exclusions: Many[Remark] = Field(default=(), alias="exclusion")
    """What the price does not hold."""
    notes: Many[Remark] = Field(default=(), alias="note")
    """What else the quote says."""

    def openings_on(self, plan_wall: str) -> tuple[Opening, ...]:
        """Return the openings on a wall of the plan, whether listed there or under a treatment on it."""
        own = [o for w in self.room.walls if w.name == plan_wall for o in w.openings]
        return (*own, *(o for t in self.walls if t.on == plan_wall for o in t.openings))

    def pieces(self) -> tuple[tuple[str, int, Piece], ...]:
        """Return all treatments and pieces, each with its table's key in the file and its place in it."""
        kinds: tuple[tuple[str, tuple[Piece, ...]], ...] = (
            ("wall", self.walls),
            ("corner", self.corners),
            ("recess", self.recesses),
            ("screen", self.screens),
            ("cloud", self.clouds),
        )
        return tuple((kind, n, piece) for kind, group in kinds for n, piece in enumerate(group))

    def piece_names(self) -> tuple[str, ...]:
        """Return the names of all treatments and pieces, in the order of `pieces`."""
        return tuple(piece.name for _, _, piece in self.pieces())
