"""Whether corner traps fit where they are: the two walls, their openings, and what hangs over the corner.

The geometry of traps across a corner: chord, sheet of a triangle, and the room that wall frames leave.
"""

import math
from collections.abc import Iterator, Mapping, Sequence

from estimator.core.errors import Problem
from estimator.core.units import MM, Display, Nm, format_length
from estimator.job.description import Job
from estimator.job.description_pieces import Corner
from estimator.layout.frames import Material
from estimator.layout.plan import PlanWall, RoomPlan, drop_corners
from estimator.layout.shapes import Point, Rect, Side, area, clip
from estimator.layout.sites import Found, Site, found


def refusals(job: Job, plan: RoomPlan, display: Display) -> Iterator[Problem]:
    """Yield why corner traps cannot be where the job says: something over them, no height, or an opening."""
    for (kind, at), corner in job.each(Corner):
        where, over = f"{kind}[{at}]", ceiling_over(corner, plan)
        top = over if corner.height is None else corner.bottom + corner.height
        if top > over:
            what = f"corner trap {corner.name} reaches {format_length(top, display)}"
            fix = f"What is over that corner is at {format_length(over, display)}."
            yield Problem(f"{where}.height", what, fix)
        if top <= corner.bottom:
            what = f"corner trap {corner.name} has no height left"
            yield Problem(f"{where}.bottom", what, "Lower its bottom.")
        yield from _openings(where, corner, _walls(corner, plan), top, found(job))


def _walls(corner: Corner, plan: RoomPlan) -> tuple[PlanWall, PlanWall]:
    named = {w.name: w for w in plan.walls}
    first, second = corner.between
    return named[first], named[second]


def _openings(
    where: str, corner: Corner, pair: tuple[PlanWall, PlanWall], top: Nm, openings: Iterator[Found]
) -> Iterator[Problem]:
    first, second = pair
    shadows = {
        first.name: Rect(first.length - corner.leg, corner.bottom, first.length, top),
        second.name: Rect(0, corner.bottom, corner.leg, top),
    }
    for f in openings:
        shadow = shadows.get(f.wall)
        if shadow is not None and f.trimmed.overlaps(shadow):
            what = f"corner trap {corner.name} stands before {f.called}"
            yield Problem(where, what, "Make its leg shorter, or its band lower or higher.")


def ceiling_over(corner: Corner, plan: RoomPlan) -> Nm:
    """Return the height of what is over a trap: the ceiling, or the lowest bulkhead over its triangle."""
    pair = _walls(corner, plan)
    triangle = (pair[0].end, _along(pair[1], corner.leg), _along(pair[0], pair[0].length - corner.leg))
    named = {w.name: w for w in plan.walls}
    low = [d.underside for d in plan.drops if area(clip(triangle, drop_corners(named[d.wall], d))) > _SPECK]
    return min([plan.height, *low])


_SPECK = float((10 * MM) ** 2)
"""Nothing hangs over a trap with less than a square centimetre."""


def _along(wall: PlanWall, at: Nm) -> Point:
    part = at / wall.length
    return (
        round(wall.start[0] + part * (wall.end[0] - wall.start[0])),
        round(wall.start[1] + part * (wall.end[1] - wall.start[1])),
    )


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
