"""The geometry of traps across a corner: chord, sheet of a triangle, and the room that wall frames leave."""

import math
from collections.abc import Mapping, Sequence

from estimator.core.units import Nm
from estimator.job.description_pieces import Corner
from estimator.layout.corner_places import ceiling_over
from estimator.layout.materials import Material
from estimator.layout.records import Side
from estimator.layout.sites import Site
from estimator.layout.surveyed import RoomPlan


def chord(leg: Nm, turn_deg: float) -> Nm:
    """Return the distance between the points `leg` from the corner on either wall: 2 leg cos(turn / 2).

    Source: plane geometry: the walls meet at 180 - turn degrees. At a square corner leg x sqrt(2).
    """
    return round(2 * leg * math.cos(math.radians(turn_deg) / 2))


def clear_of(leg: Nm, depth: Nm, turn_deg: float) -> Nm:
    """Return how far from the corner a wall frame has to start to stand clear of a trap's front.

    leg + depth sin(turn / 2).

    Source: plane geometry: the trap's ends stand square to its chord.
    """
    return leg + round(depth * math.sin(math.radians(turn_deg) / 2))


def triangle_sheet(leg: Nm, turn_deg: float) -> tuple[Nm, Nm]:
    """Return the rectangle that two triangles of two legs at 180 - turn degrees are cut from.

    Two such triangles make a rhombus of side `leg`; at a square corner the square is cut once, corner to
    corner. Elsewhere the rectangle is the rhombus's own box, leg (1 + |cos|) by leg sin.

    Source: plane geometry.
    """
    angle = math.radians(180.0 - turn_deg)
    return round(leg * (1 + abs(math.cos(angle)))), round(leg * math.sin(angle))


def kept_clear(
    site: Site, corners: Sequence[Corner], plan: RoomPlan, materials: Mapping[str, Material]
) -> dict[Side, Nm]:
    """Return how far frames keep from each end of a site's wall where a corner trap stands."""
    turns, found = {w.name: w.turn_deg for w in plan.walls}, dict[Side, Nm]()
    for corner in corners:
        top = ceiling_over(corner, plan) if corner.height is None else corner.bottom + corner.height
        if site.whole.bottom >= top or corner.bottom >= site.whole.top:
            continue
        room = clear_of(corner.leg, materials[corner.make_up].depth, turns[corner.between[0]])
        for name, side in zip(corner.between, _ENDS, strict=True):
            if name == site.wall.name:
                found[side] = max(room, found.get(side, 0))
    return found


_ENDS: tuple[Side, Side] = ("right", "left")
"""A corner lies at the right end of its first wall and at the left end of its second."""
