"""Openings, obstacles and bulkheads as what frames go round, and the electrical boxes behind frames."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from estimator.catalogue.records import Practice
from estimator.core.errors import Problem
from estimator.core.units import MM, Nm
from estimator.job.description import Job
from estimator.job.description_pieces import Treatment
from estimator.job.description_room import Opening
from estimator.layout.bounds import BandHole
from estimator.layout.plan import PlanOpening, PlanWall, RoomPlan, drop_corners
from estimator.layout.shapes import Rect, span_inside
from estimator.layout.sites import Site

SMALLEST: Nm = 10 * MM
"""Nothing that has to be kept open is smaller. Assumption: it catches a wrong unit."""
SNAP: Nm = 3125
"""1/64 in is 127, and 0.1 mm is 32 of these."""
BOX_KINDS = frozenset({"outlet", "switch"})


@dataclass(frozen=True, slots=True)
class Found:
    """An opening of the job: where it is written, on which wall it is, and under which treatment."""

    where: str
    wall: str
    treatment: str
    opening: Opening

    @property
    def called(self) -> str:
        """Return its kind and name."""
        return f"{self.opening.kind} {self.opening.name}"

    @property
    def rect(self) -> Rect:
        """Return the opening itself."""
        o = self.opening
        return Rect(o.left, o.bottom, o.left + o.width, o.bottom + o.height)

    @property
    def trimmed(self) -> Rect:
        """Return the opening with the building's trim round it."""
        trim = self.opening.casing
        return self.rect.grown(trim, trim, trim, trim)

    @property
    def boxed(self) -> bool:
        """Return whether it is an electrical box that a frame may stand over, brought forward."""
        return self.opening.kind in BOX_KINDS and self.opening.kept == "reachable"


def found(job: Job) -> Iterator[Found]:
    """Yield every opening of the job, those of the plan first."""
    for i, wall in enumerate(job.room.walls):
        for j, opening in enumerate(wall.openings):
            yield Found(f"room.wall[{i}].opening[{j}]", wall.name, "", opening)
    for (kind, i), treatment in job.each(Treatment):
        for j, opening in enumerate(treatment.openings):
            yield Found(f"{kind}[{i}].opening[{j}]", treatment.on, treatment.name, opening)


def clearance(opening: Opening, practice: Practice) -> Nm:
    """Return what is kept clear round an opening, beyond the building's trim."""
    keys = {"vent": "vent_clearance", "heater": "heater_clearance"}
    if opening.kind in BOX_KINDS:
        return practice.length("outlet_clearance")
    return practice.length(keys[opening.kind]) if opening.kind in keys else 0


def records(job: Job, practice: Practice) -> tuple[PlanOpening, ...]:
    """Return every opening as a record."""
    return tuple(
        PlanOpening(
            f.opening.name, f.opening.kind, f.wall, f.opening.left, f.opening.bottom, f.opening.width,
            f.opening.height, clearance(f.opening, practice),
        )
        for f in found(job)
    )  # fmt: skip


def refusals(job: Job, sites: Sequence[Site]) -> list[Problem]:
    """Return why openings cannot be where they are: off their band, over each other, too small."""
    bands, everything = {s.name: s.whole for s in sites}, list(found(job))
    problems = [p for f in everything for p in _small(f)]
    for i, f in enumerate(everything):
        if f.treatment in bands and not f.trimmed.overlaps(bands[f.treatment]):
            what = f"{f.called} lies outside the band of {f.treatment}"
            problems.append(Problem(f.where, what, "Move it, or list it under its wall of the room."))
        for other in everything[:i]:
            if other.wall == f.wall and other.trimmed.overlaps(f.trimmed):
                what = f"{f.called} and {other.called} overlap"
                problems.append(Problem(f.where, what, "Check where each starts, its width and its casing."))
    return problems


def _small(f: Found) -> Iterator[Problem]:
    if min(f.opening.width, f.opening.height) < SMALLEST:
        what = f"{f.called} is too small to be an opening"
        yield Problem(f"{f.where}.width", what, "Check the unit of its width and height.")


def holes(site: Site, job: Job, plan: RoomPlan, practice: Practice) -> tuple[BandHole, ...]:
    """Return what the frames of a site go round: openings with trim or clearance, and bulkheads."""
    around = []
    for f in found(job):
        if f.wall == site.wall.name and not f.boxed:
            room = clearance(f.opening, practice)
            around.append(BandHole(f.opening.name, f.opening.kind, f.trimmed.grown(room, room, room, room)))
    around += _bulkheads(site, plan)
    return tuple(h for h in around if h.rect.overlaps(site.whole))


def _bulkheads(site: Site, plan: RoomPlan) -> Iterator[BandHole]:
    named = {w.name: w for w in plan.walls}
    for drop in plan.drops:
        window = drop_corners(named[drop.wall], drop)
        span = _span(site.wall, site.material.depth, window)
        if span is not None and drop.underside < site.whole.top:
            yield BandHole(drop.name, "bulkhead", Rect(span[0], drop.underside, span[1], site.wall.height))


def _span(wall: PlanWall, depth: Nm, window: Sequence[tuple[Nm, Nm]]) -> tuple[Nm, Nm] | None:
    """Return which part of a wall a bulkhead is over, anywhere between the wall and the frames' face."""
    parts = [_span_at(wall, out, window) for out in (MM, depth)]
    found = [p for p in parts if p is not None]
    if not found:
        return None
    low = _snapped(min(p[0] for p in found) * wall.length, wall.length)
    high = _snapped(max(p[1] for p in found) * wall.length, wall.length)
    low, high = (0 if low < MM else low), (wall.length if wall.length - high < MM else high)
    return (low, high) if high - low > MM else None


def _snapped(at: float, length: Nm) -> Nm:
    """Return a place on a wall without the roundings of a turned plan, from the wall's nearer end."""
    if 2 * at > length:
        return length - round((length - at) / SNAP) * SNAP
    return round(at / SNAP) * SNAP


def _span_at(wall: PlanWall, out: Nm, window: Sequence[tuple[Nm, Nm]]) -> tuple[float, float] | None:
    into = (
        round(out * (wall.end[1] - wall.start[1]) / wall.length),
        round(-out * (wall.end[0] - wall.start[0]) / wall.length),
    )
    start = (wall.start[0] + into[0], wall.start[1] + into[1])
    end = (wall.end[0] + into[0], wall.end[1] + into[1])
    return span_inside(start, end, window)


def boxes(site: Site, job: Job) -> tuple[Rect, ...]:
    """Return the electrical boxes that frames of a site may stand over."""
    on = [f.rect for f in found(job) if f.wall == site.wall.name and f.boxed]
    return tuple(sorted(box for box in on if box.overlaps(site.whole)))
