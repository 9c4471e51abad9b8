"""The room as surveyed: a chain of walls made into a closed plan, its openings and drops, area and volume.

All lengths are whole nanometres.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from estimator.core.errors import Problem, refuse_all
from estimator.core.units import MM, Display, Nm, format_length, metres
from estimator.job.description_room import Room, RoomWall
from estimator.layout.shapes import Point, area, clip, crosses

OpeningKind = Literal["window", "door", "vent", "heater", "outlet", "switch"]


@dataclass(frozen=True, slots=True)
class PlanOpening:
    """An opening or obstacle on a plan wall; `x` from the wall's start, `z` above the floor."""

    name: str
    kind: OpeningKind
    wall: str
    x: Nm
    z: Nm
    width: Nm
    height: Nm
    clearance: Nm = 0

    @property
    def called(self) -> str:
        """Return its kind and name: frames and walls may have the name alone."""
        return f"{self.kind} {self.name}"


@dataclass(frozen=True, slots=True)
class PlanWall:
    """A wall of the plan, as seen from inside: `start` at its left end, `end` at its right end.

    Walls follow one another clockwise as seen from above; the room lies to the right of start -> end.
    Points are (x, y) in nanometres, y up the page.

    Attributes:
        turn_deg: turn to the right at its end: positive at inside corners, negative at outside corners.
    """

    name: str
    start: tuple[Nm, Nm]
    end: tuple[Nm, Nm]
    length: Nm
    height: Nm
    turn_deg: float
    finish: str


@dataclass(frozen=True, slots=True)
class PlanDrop:
    """A bulkhead along a wall: from `x` over `width`, `depth` out from it, its underside above the floor."""

    name: str
    wall: str
    x: Nm
    width: Nm
    depth: Nm
    underside: Nm


@dataclass(frozen=True, slots=True)
class RoomPlan:
    """The room as surveyed: closed chain of walls, floor area and volume (m2, m3), ceiling drops."""

    name: str
    walls: tuple[PlanWall, ...]
    drops: tuple[PlanDrop, ...]
    height: Nm
    floor_area_m2: float
    volume_m3: float
    closing_error: Nm


FULL_TURN_DEG = 360.0
TURN_TOLERANCE_DEG = 0.5
WARN_CLOSING: Nm = 7 * MM
"""Closing error that is worth a word: more than a tape is misread by. Common practice, no source."""
REFUSE_PART = 100
"""A closing error over 1/100 of the walls' length is a wrong measurement. Common practice, no source."""


def direction(heading_deg: float) -> tuple[float, float]:
    """Return the unit vector of a heading: 0 to the right of the page, positive to the left (anticlockwise).

    Quarter turns are exact, so that a room of square corners closes to the nanometre.
    """
    quarter, rest = divmod(heading_deg % FULL_TURN_DEG, 90.0)
    if not rest:
        return ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(quarter) % 4]
    radians = math.radians(heading_deg)
    return math.cos(radians), math.sin(radians)


def chain(lengths: Sequence[Nm], turns_deg: Sequence[float]) -> tuple[Point, ...]:
    """Return the corners of a chain of walls: one more than walls, the last where the chain ends.

    The first wall runs from (0, 0) to the right of the page; turns are to the right (clockwise plan).

    Args:
        lengths: of each wall, nm.
        turns_deg: turn at each wall's end, degrees; positive at inside corners.
    """
    points, heading = [(0, 0)], 0.0
    for length, turn in zip(lengths, turns_deg, strict=True):
        east, north = direction(heading)
        x, y = points[-1]
        points.append((x + round(length * east), y + round(length * north)))
        heading -= turn
    return tuple(points)


def closing_error(points: Sequence[Point]) -> Nm:
    """Return the distance from the end of the chain to its start, nm."""
    return round(math.dist(points[-1], points[0]))


def closing_words(points: Sequence[Point], display: Display) -> str:
    """Return the closing error in plain words: how far, and to which side on the page."""
    across, along = points[-1][0] - points[0][0], points[-1][1] - points[0][1]
    parts = [
        f"{format_length(abs(off), display)} too far {side if off > 0 else other}"
        for off, side, other in ((across, "right", "left"), (along, "up", "down"))
        if abs(off) >= MM
    ]
    return " and ".join(parts) or f"{format_length(closing_error(points), display)} away"


def drop_corners(wall: PlanWall, drop: PlanDrop) -> tuple[Point, ...]:
    """Return the four corners of a drop on the plan, starting at its left end on the wall."""
    along = ((wall.end[0] - wall.start[0]) / wall.length, (wall.end[1] - wall.start[1]) / wall.length)
    into = (along[1], -along[0])

    def at(x: Nm, out: Nm) -> Point:
        return (
            round(wall.start[0] + x * along[0] + out * into[0]),
            round(wall.start[1] + x * along[1] + out * into[1]),
        )

    left, right = drop.x, drop.x + drop.width
    return at(left, 0), at(right, 0), at(right, drop.depth), at(left, drop.depth)


def room_plan(room: Room, display: Display = "imperial") -> tuple[RoomPlan, tuple[Problem, ...]]:
    """Return the plan of a room and the warnings that go with it.

    Raises:
        InputError: turns that do not add up to a full turn, a chain that does not close, or walls that
            cross.
    """
    points = chain([w.length for w in room.walls], [w.turn for w in room.walls])
    problems = _shape_problems(room, points, display)
    refuse_all([p for p in problems if p.severity == "error"])
    walls = tuple(_plan_walls(room.walls, points, room.height))
    drops = tuple(PlanDrop(d.name, d.wall, d.start, d.width, d.depth, d.underside) for d in room.drops)
    floor_nm2 = area(points[:-1])
    volume = floor_nm2 * room.height - _dropped(points[:-1], walls, drops, room.height)
    plan = RoomPlan(
        room.name, walls, drops, room.height,
        floor_area_m2=floor_nm2 / metres_cubed(2), volume_m3=volume / metres_cubed(3),
        closing_error=closing_error(points),
    )  # fmt: skip
    return plan, tuple(problems)


def metres_cubed(power: int) -> float:
    """Return how many nm to the `power` make one metre to the `power`."""
    return float((1 / metres(1)) ** power)


def _plan_walls(walls: Sequence[RoomWall], points: Sequence[Point], height: Nm) -> list[PlanWall]:
    return [
        PlanWall(w.name, points[i], points[i + 1], w.length, height, w.turn, w.finish)
        for i, w in enumerate(walls)
    ]


def _shape_problems(room: Room, points: Sequence[Point], display: Display) -> list[Problem]:
    turned = math.fsum(w.turn for w in room.walls)
    if abs(turned - FULL_TURN_DEG) > TURN_TOLERANCE_DEG:
        what = f"the walls' turns add up to {turned:g} degrees, and a closed room's add up to 360"
        return [Problem("room.wall", what, "Inside corners turn right (positive), outside corners negative.")]
    gap, round_about = closing_error(points), sum(w.length for w in room.walls)
    words = (
        f"the walls do not close: the last ends {closing_words(points, display)} of where the first starts"
    )
    if gap > round_about // REFUSE_PART:
        return [Problem("room.wall", words, "Measure the walls and turns again, or check a unit.")]
    found = []
    if crosses(points[:-1]):
        found.append(Problem("room.wall", "two walls of the plan cross", "Check the turns and their signs."))
    if gap > WARN_CLOSING:
        fix = "The layout goes by each wall's own length; measure again before cutting."
        found.append(Problem("room.wall", words, fix, severity="warning"))
    return found


def _dropped(
    room: Sequence[Point], walls: Sequence[PlanWall], drops: Sequence[PlanDrop], height: Nm
) -> float:
    """Return the volume the drops take, nm3; where two overlap the lower one counts once."""
    named = {w.name: w for w in walls}
    shapes = [(clip(room, drop_corners(named[d.wall], d)), height - d.underside, d) for d in drops]
    total = math.fsum(area(shape) * hang for shape, hang, _ in shapes)
    for i, (shape, hang, _) in enumerate(shapes):
        for _, other_hang, other in shapes[:i]:
            both = clip(shape, drop_corners(named[other.wall], other))
            total -= area(both) * min(hang, other_hang)
    return total
