"""Whether corner traps fit where they are: the two walls, their openings, and what hangs over the corner."""

from collections.abc import Iterator

from estimator.core.errors import Problem
from estimator.core.units import MM, Display, Nm, format_length
from estimator.job.description import Job
from estimator.job.description_pieces import Corner
from estimator.layout.holes import Found, found
from estimator.layout.plan import drop_corners
from estimator.layout.polygons import Point, area, clip
from estimator.layout.rects import Rect
from estimator.layout.surveyed import PlanWall, RoomPlan


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
