"""The room as surveyed: its walls as a closed plan, their openings, and the drops of its ceiling.

All lengths are whole nanometres.
"""

from dataclasses import dataclass
from typing import Literal

from estimator.core.units import Nm

OpeningKind = Literal["window", "door", "vent", "heater", "outlet", "switch"]


@dataclass(frozen=True, slots=True)
class Opening:
    """An opening or obstacle on a plan wall; `x` from the wall's start, `z` above the floor."""

    name: str
    kind: OpeningKind
    wall: str
    x: Nm
    z: Nm
    width: Nm
    height: Nm
    clearance: Nm = 0


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
class Drop:
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
    drops: tuple[Drop, ...]
    height: Nm
    floor_area_m2: float
    volume_m3: float
    closing_error: Nm
