"""Where each treatment stands: its wall, its band, what frames go round there, and bands that do not fit.

What each side of a band meets, by the plan and the job, and how far frames stop short there.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from estimator.catalogue.records import Practice
from estimator.core.errors import Problem, refuse_all
from estimator.core.units import MM, Display, Nm, format_length
from estimator.job.description import Job
from estimator.job.description_pieces import Treatment
from estimator.job.description_room import Opening
from estimator.layout.edges import CASED, SQUARE_DEG, BandHole, Bound, seat, stop_short
from estimator.layout.frames import Material
from estimator.layout.members import FrameStock
from estimator.layout.plan import PlanOpening, PlanWall, RoomPlan, drop_corners
from estimator.layout.records import Meets
from estimator.layout.shapes import Rect, Side, span_inside


@dataclass(frozen=True, slots=True)
class Site:
    """A treatment on its wall.

    Attributes:
        kind: key of its kind of piece.
        where: its key path in the job file.
        whole: the part of the wall that is treated, before casings.
    """

    kind: str
    where: str
    treatment: Treatment
    wall: PlanWall
    material: Material
    whole: Rect

    @property
    def name(self) -> str:
        """Return the treatment's name."""
        return self.treatment.name


def sites(job: Job, plan: RoomPlan, materials: Mapping[str, Material]) -> tuple[Site, ...]:
    """Return every treatment's site, in the job file's order.

    Raises:
        InputError: a band above its wall, or two treatments over each other; all of them.
    """
    walls = {w.name: w for w in plan.walls}
    found = tuple(
        Site(kind, f"{kind}[{n}]", t, walls[t.on], materials[t.make_up], _whole(t, walls[t.on]))
        for (kind, n), t in job.each(Treatment)
    )
    refuse_all([*_too_high(found, job.header.display), *_over_each_other(found)])
    return found


def _whole(treatment: Treatment, wall: PlanWall) -> Rect:
    end = wall.length if treatment.end is None else treatment.end
    if treatment.band == "floor to ceiling":
        return Rect(treatment.start, 0, end, wall.height)
    bottom = treatment.band.bottom
    return Rect(treatment.start, bottom, end, bottom + treatment.band.height)


def _too_high(found: Sequence[Site], display: Display) -> Iterator[Problem]:
    for site in found:
        if site.whole.top > site.wall.height:
            over, ceiling = (
                format_length(v, display) for v in (site.whole.top - site.wall.height, site.wall.height)
            )
            what = f"the band of {site.name} reaches {over} above the ceiling"
            yield Problem(f"{site.where}.band", what, f"The ceiling is at {ceiling}.")


def _over_each_other(found: Sequence[Site]) -> list[Problem]:
    return [
        Problem(
            b.where,
            f"treatments {a.name} and {b.name} cover the same part of wall {b.wall.name}",
            "Move one, or make its band smaller.",
        )
        for i, b in enumerate(found)
        for a in found[:i]
        if a.wall.name == b.wall.name and a.whole.overlaps(b.whole)
    ]


CornerRule = Literal["mitre", "butt"]
UPRIGHT: tuple[Literal["left", "right"], ...] = ("left", "right")


def bounds(
    site: Site, sites: Sequence[Site], plan: RoomPlan, rule: CornerRule, clear: Mapping[Side, Nm]
) -> dict[Side, Bound]:
    """Return what each side of a site's band meets.

    Args:
        site: the treatment.
        sites: all treatments, this one too.
        plan: the room.
        rule: how frames meet at a square corner.
        clear: how far frames keep from the wall's ends, where something else stands in the corner.
    """
    found: dict[Side, Bound] = {
        side: _kept_off(site, side, clear[side]) if side in clear else _upright(site, side, sites, plan, rule)
        for side in UPRIGHT
    }
    found["bottom"] = _level(site, "bottom", sites)
    found["top"] = _level(site, "top", sites)
    return found


def _kept_off(site: Site, side: Side, room: Nm) -> Bound:
    return Bound("free", cased=True, short=max(room - room_at(site, side), 0))


def meeting(depth: Nm, other: Nm, turn_deg: float) -> Nm:
    """Return how far a frame stops from the corner so that its front meets the front of the other frame.

    (other - depth cos turn) / sin turn; for equal depths d tan(turn / 2). Negative at outside corners,
    where frames run past the corner.

    Source: plane geometry: where the lines at `depth` and `other` from the two walls cross.
    """
    if depth == other:
        return stop_short(depth, turn_deg)
    turn = math.radians(abs(turn_deg))
    short, theirs = (other - depth * math.cos(turn)), (depth - other * math.cos(turn))
    if short < 0:
        return 0
    inside = round(depth * math.tan(turn)) if theirs < 0 else round(short / math.sin(turn))
    return inside if turn_deg > 0 else -inside


def corner(plan: RoomPlan, wall: PlanWall, side: Side) -> tuple[PlanWall, float]:
    """Return the wall round the corner on that side of a wall, and the turn there."""
    at = plan.walls.index(wall)
    if side == "left":
        before = plan.walls[at - 1]
        return before, before.turn_deg
    return plan.walls[(at + 1) % len(plan.walls)], wall.turn_deg


def room_at(site: Site, side: Side) -> Nm:
    """Return how far the band's end is from the wall's end on that side."""
    return site.whole.left if side == "left" else site.wall.length - site.whole.right


def _stated(site: Site, side: Side) -> Meets | None:
    stated: Meets | None = getattr(site.treatment.sides, side)
    return stated


def _plain(meets: Meets, turn_deg: float = 0.0, *, tight: bool = False) -> Bound:
    return Bound(meets, meets in CASED, turn_deg=turn_deg, tight=tight)


def _upright(
    site: Site, side: Literal["left", "right"], sites: Sequence[Site], plan: RoomPlan, rule: CornerRule
) -> Bound:
    if _beside(site, side, sites):
        return Bound("frame", cased=False)
    wall, turn = corner(plan, site.wall, side)
    away, stated = room_at(site, side), _stated(site, side)
    other = _round_corner(site, side, wall, sites)
    if other is not None and turn == 0 and away == 0 and room_at(other, _opposite(side)) == 0:
        return Bound("frame", cased=False, wall=wall.name)
    if other is not None and turn != 0 and not (turn < 0 and stated == "free"):
        met = _angled(site, other, side, turn, rule)
        if met is not None:
            return met
    if stated == "angled":
        short = max(0, stop_short(site.material.depth, turn) - away) if turn else 0
        return Bound("angled", cased=False, short=short, turn_deg=turn, wall=wall.name)
    if away > 0:
        return _at_wall(stated or "free", site, turn, away)
    return _at_wall(stated or ("wall" if turn > 0 else "free"), site, turn, away)


def _at_wall(meets: Meets, site: Site, turn_deg: float, away: Nm) -> Bound:
    """Return the bound where no other treatment stands round the corner; a leaning wall keeps off."""
    if turn_deg <= 0 or turn_deg == SQUARE_DEG or (away and turn_deg < SQUARE_DEG):
        return _plain(meets, turn_deg if not away else 0.0, tight=turn_deg > 0 and not away)
    casing = site.material.casing if meets in CASED and not away else 0
    short = seat(site.material.depth, turn_deg, casing).short
    own = max(short - away, 0) if away else short
    return Bound(meets, meets in CASED, short=own, turn_deg=turn_deg, tight=not away)


def _opposite(side: Side) -> Side:
    return "right" if side == "left" else "left"


def _beside(site: Site, side: Side, sites: Sequence[Site]) -> bool:
    """Return whether another treatment starts where this one ends, on the same wall."""
    at = site.whole.at(side)
    return any(
        other.whole.at(_opposite(side)) == at and _level_with(site, other)
        for other in sites
        if other is not site and other.wall.name == site.wall.name
    )


def _level_with(site: Site, other: Site) -> bool:
    return site.whole.bottom < other.whole.top and other.whole.bottom < site.whole.top


def _round_corner(site: Site, side: Side, wall: PlanWall, sites: Sequence[Site]) -> Site | None:
    """Return the treatment round the corner, at the same height; the nearest to the corner."""
    near = [s for s in sites if s.wall.name == wall.name and _level_with(site, s) and s is not site]
    return min(near, key=lambda s: (room_at(s, _opposite(side)), s.name), default=None)


def _angled(site: Site, other: Site, side: Side, turn: float, rule: CornerRule) -> Bound | None:
    """Return the bound where two treatments meet at a turn; None where one keeps clear of the corner."""
    away, theirs = room_at(site, side), room_at(other, _opposite(side))
    depth, across = site.material.depth, other.material.depth
    own, opposite = meeting(depth, across, turn), meeting(across, depth, turn)
    reach = max(own, opposite, depth, across) if turn > 0 else 1
    if away >= reach or theirs >= reach:
        return None
    if _butts(site, other, turn, rule):
        return _butted(site, other, turn, across, away)
    short = max(own - away, 0) if turn > 0 else own
    return Bound("angled", cased=False, short=short, turn_deg=turn, wall=other.wall.name)


def _butts(site: Site, other: Site, turn: float, rule: CornerRule) -> bool:
    """Return whether a square corner is butted: the shop's rule, or a mitred stile would be too thin."""
    if abs(turn) != SQUARE_DEG:
        return False
    return rule == "butt" or (turn < 0 and any(thin_stile(s.material.stock, turn) for s in (site, other)))


def thin_stile(stock: FrameStock, turn_deg: float) -> bool:
    """Return whether a stile bevelled for an outside corner keeps under a quarter of its thickness."""
    return stock.thickness - stop_short(stock.depth, abs(turn_deg)) < stock.thickness // 4


def _butted(site: Site, other: Site, turn: float, across: Nm, away: Nm) -> Bound:
    """Return the bound by the butt rule: the wider treatment runs through, by name where they are equal."""
    through = (-site.whole.width, site.name) < (-other.whole.width, other.name)
    if turn > 0:
        if through:
            return Bound("wall", cased=False, turn_deg=turn, wall=other.wall.name)
        short = max(across - away, 0)
        return Bound("angled", cased=True, short=short, turn_deg=turn, wall=other.wall.name)
    if through:
        return Bound("free", cased=True, short=-across, turn_deg=turn, wall=other.wall.name)
    return Bound("frame", cased=False, turn_deg=turn, wall=other.wall.name)


def _level(site: Site, side: Literal["bottom", "top"], sites: Sequence[Site]) -> Bound:
    at = site.whole.at(side)
    opposite: Side = "top" if side == "bottom" else "bottom"
    stacked = any(
        s.whole.at(opposite) == at and s.whole.left < site.whole.right and site.whole.left < s.whole.right
        for s in sites
        if s is not site and s.wall.name == site.wall.name
    )
    if stacked:
        return Bound("frame", cased=False)
    building: Meets = "floor" if side == "bottom" else "ceiling"
    reached = at == (0 if side == "bottom" else site.wall.height)
    return _plain(_stated(site, side) or (building if reached else "free"), tight=reached)


SLOT: Nm = 25_400_000
"""A gap narrower than this beside a casing can be neither painted nor cleaned; common practice, no source."""
_PLACES: Mapping[Side, str] = {
    "left": "at its left", "right": "at its right", "bottom": "above the floor", "top": "under the ceiling",
}  # fmt: skip


def doubts(places: Sequence[Site], display: Display) -> Iterator[Problem]:
    """Yield, as warnings, what looks wrong where bands end: narrow slots, and sides that meet nothing."""
    for site in places:
        gaps: dict[Side, Nm] = {
            "left": site.whole.left, "right": site.wall.length - site.whole.right,
            "bottom": site.whole.bottom, "top": site.wall.height - site.whole.top,
        }  # fmt: skip
        for side, gap in gaps.items():
            what, fix = _doubt(_stated(site, side), side, gap, display)
            if what:
                yield Problem(f"{site.where}.{side}", f"{site.name}: {what}", fix, severity="warning")


def _doubt(stated: Meets | None, side: Side, gap: Nm, display: Display) -> tuple[str, str]:
    """Return what looks wrong with a side whose band ends `gap` before the building, and what to do."""
    if 0 < gap < SLOT:
        what = f"a slot of {format_length(gap, display)} is left {_PLACES[side]}"
        least = format_length(SLOT, display)
        return what, f"Close it, or leave {least} or more: it can be neither painted nor cleaned."
    if stated in {"floor", "ceiling"} and gap:
        what = f"its {side} side is to meet the {stated}, which is {format_length(gap, display)} away"
        return what, "Let the band go there, or say what the side meets."
    if stated == "baseboard" and not gap:
        what = "its band goes to the floor, and its bottom side is to meet a baseboard"
        return what, "Let the band begin above the baseboard, or take that off first and leave the key out."
    return "", ""


def level_line(job: Job, practice: Practice) -> Nm:
    """Return the height of the room's laser line: the first a treatment gives, else the shop's."""
    given = [t.level_line for t in job.walls if t.level_line is not None]
    return given[0] if given else practice.length("level_line")


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


def refusals(job: Job, sites: Sequence[Site]) -> Iterator[Problem]:
    """Yield why openings cannot be where they are: off their band, over each other, too small."""
    bands, everything = {s.name: s.whole for s in sites}, list(found(job))
    for i, f in enumerate(everything):
        yield from _small(f)
        if f.treatment in bands and not f.trimmed.overlaps(bands[f.treatment]):
            what = f"{f.called} lies outside the band of {f.treatment}"
            yield Problem(f.where, what, "Move it, or list it under its wall of the room.")
        for other in everything[:i]:
            if other.wall == f.wall and other.trimmed.overlaps(f.trimmed):
                what = f"{f.called} and {other.called} overlap"
                yield Problem(f.where, what, "Check where each starts, its width and its casing.")


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


def boxes(site: Site, job: Job, practice: Practice) -> dict[str, Rect]:
    """Return the electrical boxes that frames of a site may stand over, with their clearance, by name."""
    room = practice.length("outlet_clearance")
    on = (f for f in found(job) if f.wall == site.wall.name and f.boxed)
    grown = {f.opening.name: f.rect.grown(room, room, room, room) for f in on}
    return {name: box for name, box in grown.items() if box.overlaps(site.whole)}
