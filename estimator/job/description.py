"""The job: everything a job file can say, as strict frozen records.

The file's keys are the attributes' aliases where they differ (``make-up`` is `make_up`, ``from`` is
`start`, ``to`` is `end`); each kind of piece has an array of tables. Lengths are whole nanometres once read.
"""

import datetime as dt
from collections.abc import Mapping
from functools import cache
from typing import Annotated, Any, Literal, TypeVar, cast

from pydantic import Field, create_model

from estimator.core.units import Display
from estimator.job.description_pieces import PIECES, Band, Built, MakeUp, Piece, Treatment
from estimator.job.description_room import Opening, Room
from estimator.job.fields import (
    NUMBER_PATTERN,
    Charged,
    Currency,
    FileName,
    Key,
    Line,
    Many,
    Money,
    Name,
    Other,
    Product,
    Prose,
    Record,
)

SCHEMA = 1
P = TypeVar("P", bound=Built)


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
    tables: FileName | None = None
    """A folder of tables, relative to this file, in place of the shipped ones; `archive copy` writes it."""
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
    fabric: Annotated[Key | None, Product("fabric")] = None
    """Product of the price list; left out, the make-up's."""
    colour: Name | None = None
    """The dye lot's name."""


class JobOption(Record):
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
    finish: Annotated[Mapping[Name, Key], Product("paint")] = Field(default_factory=dict)
    """For each make-up to change, the paint on its casings."""
    drop: Many[Name] = ()
    """Treatments and pieces left out."""


class Allowance(Record):
    """A sum set aside in the quote for work that is not measured."""

    text: Line
    """What the sum is for."""
    amount: Money
    """In the job's currency, tax left out."""
    charged: Charged = "marked up"
    """Whether overhead, profit and discount are on it, or it stands in the price as it is."""


class Remark(Record):
    """A sentence of the quote: an exclusion or a note."""

    text: Prose
    """As printed on the quote."""


class Surveyed(Record):
    """What opens a job file: the job, the room, and the build-ups."""

    schema_: Literal[1] = Field(alias="schema")
    """Version of the job file's form: 1."""
    header: Header = Field(alias="job")
    """The job itself."""
    room: Room
    """The room as surveyed."""
    make_ups: Annotated[Mapping[Name, MakeUp], Field(min_length=1, max_length=50)] = Field(alias="make-up")
    """Named build-ups."""


class Quoted(Record):
    """What closes a job file: colours, options, and what the quote says besides."""

    colours: Many[Colour] = Field(default=(), alias="colour")
    """Fabrics and colours other than the make-ups'."""
    options: Many[JobOption] = Field(default=(), alias="option")
    """Alternatives quoted beside the base."""
    allowances: Many[Allowance] = Field(default=(), alias="allowance")
    """Sums set aside."""
    others: Many[Other] = Field(default=(), alias="other")
    """Lines of the price beside what is built: hire, travel, permits, subcontractors, credits."""
    exclusions: Many[Remark] = Field(default=(), alias="exclusion")
    """What the price does not hold."""
    notes: Many[Remark] = Field(default=(), alias="note")
    """What else the quote says."""


class Job(Quoted, Surveyed):
    """A job file, whole."""

    @property
    def walls(self) -> tuple[Treatment, ...]:
        """Return the treatments of walls."""
        return self.of(Treatment)

    def openings_on(self, plan_wall: str) -> tuple[Opening, ...]:
        """Return the openings on a wall of the plan, whether listed there or under a treatment on it."""
        own = [o for w in self.room.walls if w.name == plan_wall for o in w.openings]
        return (*own, *(o for t in self.walls if t.on == plan_wall for o in t.openings))

    def pieces(self) -> tuple[tuple[str, int, Piece], ...]:
        """Return all treatments and pieces, each with its table's key in the file and its place in it."""
        return tuple((key, n, piece) for key in PIECES for n, piece in enumerate(getattr(self, key, ())))

    def each(self, model: type[P]) -> tuple[tuple[tuple[str, int], P], ...]:
        """Return the pieces that are built in one way, each with its path in the file."""
        return tuple(((key, n), piece) for key, n, piece in self.pieces() if isinstance(piece, model))

    def of(self, model: type[P]) -> tuple[P, ...]:
        """Return the pieces that are built in one way."""
        return tuple(piece for _, piece in self.each(model))

    def piece(self, name: str) -> Piece:
        """Return the treatment or piece of that name."""
        return next(piece for _, _, piece in self.pieces() if piece.name == name)

    def piece_names(self) -> tuple[str, ...]:
        """Return the names of all treatments and pieces, in the order of `pieces`."""
        return tuple(piece.name for _, _, piece in self.pieces())


def job_file() -> type[Job]:
    """Return the model of a job file: a job with an array of tables for each kind of piece."""
    return _job_file(tuple((key, kind.model, kind.about) for key, kind in PIECES.items()))


@cache
def _job_file(kinds: tuple[tuple[str, type[Piece], str], ...]) -> type[Job]:
    make, many = cast("Any", create_model), cast("Any", Many)  # no type checker follows what is made here
    arrays = {key: (many[model], Field(default=(), description=about)) for key, model, about in kinds}
    surveyed = make("Surveyed", __base__=Surveyed, __module__=create_model.__module__, **arrays)
    bases = (Job, surveyed)
    made = make("Job", __base__=bases, __module__=create_model.__module__, __doc__=Job.__doc__)
    return cast("type[Job]", made)
