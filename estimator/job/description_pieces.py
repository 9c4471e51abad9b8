"""What is built: make-ups, treatments of walls, the other pieces, and one record a kind of piece."""

from dataclasses import dataclass
from typing import Annotated, Literal, TypeAlias

from pydantic import Discriminator, Field, Tag

from estimator.job.description_room import Opening
from estimator.job.fields import Coordinate, Key, Length, Many, Name, PositiveLength, Product, Record

Meets = Literal[
    "wall", "ceiling", "bulkhead", "sill", "casing", "baseboard", "floor", "angled", "frame", "free"
]  # fmt: skip
Count = Annotated[int, Field(ge=1, le=200)]


class MakeUp(Record):
    """A named build-up. Board thickness x layers + gap must equal the member's depth."""

    member: Annotated[Key, Product("member")]
    """Frame stock, a product of kind member; its width is the frame's depth."""
    board: Annotated[Key, Product("board")]
    """Product of kind board."""
    layers: Annotated[int, Field(ge=1, le=8)] = 1
    """Boards one behind the other."""
    gap: Length = 0
    """Air left behind the boards, inside the frame's depth."""
    fabric: Annotated[Key, Product("fabric")]
    """Product of kind fabric."""
    colour: Name | None = None
    """The dye lot's name."""
    casing: Annotated[Key | None, Product("casing")] = None
    """Strip on the frame's edges where they meet the building or end free; left out: none."""
    cover: Annotated[Key | None, Product("cover")] = None
    """Strip on the face over the joints between frames; left out: none."""
    finish: Annotated[Key | None, Product("paint")] = None
    """Paint on casings and cover strips; left out: they come finished."""
    primer: Annotated[Key | None, Product("primer")] = None
    """Primer under the paint where the strips come bare; left out: they come primed."""


class BandSize(Record):
    """The part of a wall's height that is treated."""

    bottom: Length
    """Above the floor."""
    height: PositiveLength
    """From the band's bottom to its top."""


def _band_form(value: object) -> str:
    return "size" if isinstance(value, dict | BandSize) else "text"


Band = Annotated[
    Annotated[Literal["floor to ceiling"], Tag("text")] | Annotated[BandSize, Tag("size")],
    Discriminator(_band_form),
]


class Sides(Record):
    """What each side of a treatment meets; a side left out is worked out from the plan."""

    left: Meets | None = None
    """As seen from inside the room."""
    right: Meets | None = None
    """As seen from inside the room."""
    bottom: Meets | None = None
    """The frame's lower side."""
    top: Meets | None = None
    """The frame's upper side."""


class Backing(Record):
    """What the frames are fixed to."""

    kind: Literal["gypsum", "masonry"] = "gypsum"
    """Gypsum board on studs, or masonry."""
    layers: Annotated[int, Field(ge=1, le=4)] = 1
    """Layers of gypsum board over the studs."""
    thickness: PositiveLength | None = None
    """Of one layer of gypsum board; left out: the shop's usual."""
    studs: PositiveLength | None = None
    """Stud spacing, centre to centre; left out: the shop's usual."""
    direction: Literal["vertical", "horizontal"] = "vertical"
    """Which way the studs run."""
    first_stud: Length | None = None
    """Centre of the first stud from the wall's left end (or above the floor); left out: not known, and each
    rail counts the studs that it must cross."""


class Built(Record):
    """What every treatment and piece says."""

    name: Name
    """Unique; frames are named after it: treatment N has N1, N2 and so on."""
    make_up: Name = Field(alias="make-up")
    """A make-up's name."""

    @property
    def frame_names(self) -> tuple[str, ...]:
        """Return the names of the frames of a piece: its own where there is one, else numbered."""
        return (self.name,)


class CountedPiece(Built):
    """A piece of which there may be several alike."""

    count: Count = 1
    """How many like this."""

    @property
    def frame_names(self) -> tuple[str, ...]:
        """Return the names of the frames of a piece: its own where there is one, else numbered."""
        return (self.name,) if self.count == 1 else tuple(f"{self.name}{k}" for k in range(1, self.count + 1))


class Treatment(Built):
    """A treatment of a wall: a band of frames."""

    on: Name
    """Wall of the plan."""
    start: Length = Field(default=0, alias="from")
    """Left end of the treatment, from the plan wall's left end."""
    end: PositiveLength | None = Field(default=None, alias="to")
    """Right end of the treatment, from the plan wall's left end; left out: the wall's right end."""
    band: Band = "floor to ceiling"
    """How much of the wall's height."""
    sides: Sides = Sides()
    """What its sides meet, where the plan does not tell."""
    backing: Backing = Backing()
    """The building behind the frames."""
    exterior: bool = False
    """An outside wall: moisture and temperature behind the treatment are for the building's own designer."""
    frames: Many[PositiveLength] = ()
    """The user's own frame widths from left to right, casings and joints left out; left out: worked out."""
    level_line: PositiveLength | None = None
    """Height of the laser line above the floor; left out: the shop's."""
    openings: Many[Opening] = Field(default=(), alias="opening")
    """What is on the wall within this treatment."""


class Corner(Built):
    """A trap across a vertical inside corner of the plan: a flat frame or a solid triangular prism."""

    between: Annotated[tuple[Name, Name], Field(strict=False)]
    """The two plan walls that meet there, the left one first as seen from inside."""
    kind: Literal["flat", "solid"] = "flat"
    """A flat frame across the corner, or a filled triangular prism."""
    leg: PositiveLength
    """How far along each wall it reaches."""
    bottom: Length = 0
    """Above the floor."""
    height: PositiveLength | None = None
    """Left out: to the ceiling."""


class Recess(Built):
    """A box that fills a window's recess: a removable frame with its own depth."""

    wall: Name
    """The treatment or plan wall the window is in."""
    opening: Name
    """The window's name."""
    depth: PositiveLength
    """Depth of the recess."""


class Screen(CountedPiece):
    """A two-faced screen that stands on feet."""

    width: PositiveLength
    """Of the frame."""
    height: PositiveLength
    """Of the frame, feet left out."""
    feet: Annotated[Key, Product("foot")]
    """Product of kind foot; two a screen."""


class PlanSpot(Record):
    """A point on the plan, from the left end of the first wall: x along it, y into the room."""

    x: Coordinate
    """Along the first wall."""
    y: Coordinate
    """Into the room."""


class Cloud(CountedPiece):
    """A frame that hangs flat below the ceiling."""

    width: PositiveLength
    """Along x of the plan."""
    length: PositiveLength
    """Along y of the plan."""
    drop: PositiveLength
    """From the ceiling to the cloud's top side."""
    hanger: Annotated[Key | None, Product("hanger")] = None
    """Product of kind hanger; left out: the shop's."""
    at: PlanSpot | None = None
    """Its centre on the plan."""


Piece: TypeAlias = Treatment | Corner | Recess | Screen | Cloud
"""The ways to build: on a wall, across a corner, in a recess, on feet, on hangers. A kind is one of them."""


@dataclass(frozen=True, slots=True)
class HeldBy:
    """The hardware that a piece hangs or stands on.

    Attributes:
        named_by: the piece's attribute that may name the product; '' for none.
        choice: the shop's choice where the piece names none; '' where it must name one.
        number: the shop's value of how many a piece has; '' for as many as its size and weight ask for.
    """

    named_by: str = ""
    choice: str = ""
    number: str = ""


@dataclass(frozen=True, slots=True)
class PieceKind:
    """A kind of piece.

    Attributes:
        model: what the job file says of one.
        about: of the job file's array of them, for its reference.
        word, words: what papers call one, and several.
        faces: names of the faces that are covered in cloth.
        held: by which hardware; of what is screwed to the building by none.
        heard: what is assumed of its sound, for the notes of the room.
    """

    model: type[Piece]
    about: str
    word: str
    words: str
    faces: tuple[str, ...] = ("front",)
    held: HeldBy = HeldBy()
    heard: str = ""


PIECES: dict[str, PieceKind] = {
    "wall": PieceKind(Treatment, "Treatments of walls.", "wall frame", "wall frames"),
    "corner": PieceKind(
        Corner,
        "Corner traps.",
        "corner trap",
        "corner traps",
        heard="Corner traps count as flat panels on a wall; nothing is claimed for them below 100 Hz.",
    ),
    "recess": PieceKind(
        Recess,
        "Boxes in window recesses.",
        "recess box",
        "recess boxes",
        held=HeldBy(choice="product_hook", number="hooks_per_recess"),
    ),
    "screen": PieceKind(
        Screen,
        "Screens on feet.",
        "freestanding screen",
        "freestanding screens",
        faces=("front", "back"),
        held=HeldBy(named_by="feet", number="feet_per_screen"),
    ),
    "cloud": PieceKind(
        Cloud,
        "Clouds below the ceiling.",
        "ceiling cloud",
        "ceiling clouds",
        held=HeldBy(named_by="hanger", choice="product_hanger"),
    ),
}
"""Every kind by its table's key in the job file, in the order in which they are laid out."""
