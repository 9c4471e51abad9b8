"""The room as surveyed: its plan as a chain of walls, openings, bulkheads, and where people listen."""

from typing import Annotated, Literal

from pydantic import Field

from estimator.job.fields import Coordinate, Key, Length, Many, Name, PositiveLength, Record

Use = Literal[
    "rehearsal", "music-rehearsal", "control", "podcast", "classroom", "meeting", "worship", "other"
]  # fmt: skip
OpeningKind = Literal["window", "door", "vent", "heater", "outlet", "switch"]
Keep = Literal["clear", "reachable"]


class Opening(Record):
    """A window, door or obstacle on a wall. Positions are from the plan wall's left end and the floor."""

    name: Name
    """Unique in the job."""
    kind: OpeningKind
    """What it is."""
    left: Length
    """From the left end of the plan wall, seen from inside, to the opening's left side."""
    bottom: Length
    """From the floor to the opening's bottom; a door's is "0 in"."""
    width: PositiveLength
    """Of the opening itself, trim left out."""
    height: PositiveLength
    """Of the opening itself, trim left out."""
    casing: Length = 0
    """Width of the building's own trim round the opening, outside its width and height."""
    keep: Keep | None = None
    """"clear": nothing in front of it. "reachable": a frame may run behind or over its edge, with a cut-out
    and a box extension; outlets and switches only. Left out: those stay reachable, everything else clear."""
    egress: bool = False
    """A way out in an emergency: nothing may narrow it or hide it."""

    @property
    def kept(self) -> Keep:
        """Return how the opening is kept, the kind's usual way where the job does not say."""
        return self.keep or ("reachable" if self.kind in {"outlet", "switch"} else "clear")


class RoomWall(Record):
    """A wall of the plan. Walls follow clockwise as seen from above, left to right seen from inside."""

    name: Name
    """Unique in the plan."""
    length: PositiveLength
    """From corner to corner, along the wall."""
    turn: Annotated[float, Field(gt=-180, lt=180)] = 90.0
    """Turn to the right at its right end, degrees: 90 square, 0 straight on, negative outside corner."""
    finish: Key = "gypsum"
    """Surface, a key of the absorption table."""
    openings: Many[Opening] = Field(default=(), alias="opening")
    """Openings on this wall, where no treatment lists them."""


class Drop(Record):
    """A bulkhead: a lower ceiling along a wall."""

    name: Name
    """Unique among bulkheads."""
    wall: Name
    """Wall of the plan it runs along."""
    start: Length = Field(default=0, alias="from")
    """Where it starts, from the wall's left end."""
    width: PositiveLength
    """Its extent along the wall."""
    depth: PositiveLength
    """How far it stands out from the wall."""
    underside: PositiveLength
    """Height of its underside above the floor."""


class Point(Record):
    """A point in the room, from the left end of the first wall: x along it, y into the room, z up."""

    x: Coordinate
    """Along the first wall."""
    y: Coordinate
    """Into the room."""
    z: Length
    """Above the floor."""


class Loudspeaker(Point):
    """A loudspeaker's position."""

    name: Name
    """Unique among loudspeakers."""


class Room(Record):
    """The room: what is there before anything is built."""

    name: Name
    """As printed."""
    use: Use
    """What it is for; sets the reverberation time to aim at where `target_s` is left out."""
    height: PositiveLength
    """Floor to ceiling, bulkheads left out."""
    floor: Key = "carpet-on-pad"
    """Key of the absorption table."""
    ceiling: Key = "gypsum"
    """Key of the absorption table."""
    target_s: Annotated[float, Field(gt=0, le=20)] | None = None
    """Reverberation time wanted, seconds."""
    listening: Point | None = None
    """Where the listener's ears are."""
    loudspeakers: Many[Loudspeaker] = ()
    """Where the loudspeakers are."""
    built: Annotated[int, Field(ge=1500, le=2200)] | None = None
    """Year the building was built, where known; before 1978 paint may hold lead."""
    walls: Annotated[tuple[RoomWall, ...], Field(strict=False, min_length=3, max_length=100)] = Field(
        alias="wall"
    )
    """The plan, clockwise as seen from above."""
    drops: Many[Drop] = Field(default=(), alias="drop")
    """Bulkheads."""
