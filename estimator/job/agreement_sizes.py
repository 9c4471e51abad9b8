"""Whether what a job names fits where it says it is: spans, bands, openings, bulkheads and pieces."""

from collections.abc import Iterator
from itertools import combinations

from estimator.core.errors import Problem
from estimator.core.units import Nm, format_length
from estimator.intake.structured import KeyPath
from estimator.job.description import Job
from estimator.job.description_pieces import BandSize, Cloud, Corner, Screen, Treatment
from estimator.job.description_room import Opening, RoomWall
from estimator.job.document import Document
from estimator.job.piece_kinds import PIECES

MOST_OPENINGS = 500
Placed = tuple[KeyPath, RoomWall, Opening]
Box = tuple[Nm, Nm, Nm, Nm]


class _Ruler:
    """Lengths as the job shows them."""

    def __init__(self, job: Job) -> None:
        self.display = job.header.display

    def __call__(self, length: Nm) -> str:
        return format_length(length, self.display)


def _plan(job: Job) -> dict[str, RoomWall]:
    return {wall.name: wall for wall in job.room.walls}


def _placed(job: Job) -> list[Placed]:
    """Return every opening that is on a known wall, with its path."""
    plan = _plan(job)
    found: list[Placed] = [
        (("room", "wall", n, "opening", m), wall, opening)
        for n, wall in enumerate(job.room.walls)
        for m, opening in enumerate(wall.openings)
    ]
    for at, treatment in job.each(Treatment):
        if treatment.on in plan:
            wall = plan[treatment.on]
            found += [((*at, "opening", m), wall, o) for m, o in enumerate(treatment.openings)]
    return found


def box_of(treatment: Treatment, wall: RoomWall, height: Nm) -> Box:
    """Return a treatment's left, right, bottom and top on its plan wall, bulkheads left out."""
    right = treatment.end if treatment.end is not None else wall.length
    if isinstance(treatment.band, BandSize):
        return treatment.start, right, treatment.band.bottom, treatment.band.bottom + treatment.band.height
    return treatment.start, right, 0, height


def _opening_box(opening: Opening) -> Box:
    return opening.left, opening.left + opening.width, opening.bottom, opening.bottom + opening.height


def _meet(one: Box, other: Box) -> bool:
    return one[0] < other[1] and other[0] < one[1] and one[2] < other[3] and other[2] < one[3]


def _openings(job: Job, document: Document) -> Iterator[Problem]:
    ruler, height = _Ruler(job), job.room.height
    for path, wall, opening in _placed(job):
        _, right, _, top = _opening_box(opening)
        if right > wall.length:
            what = (
                f"opening {opening.name!r} ends at {ruler(right)}, wall {wall.name!r} at {ruler(wall.length)}"
            )
            yield document.problem((*path, "width"), what, "Measure left and width again.")
        if top > height:
            what = f"opening {opening.name!r} reaches {ruler(top)}, the room is {ruler(height)} high"
            yield document.problem((*path, "height"), what, "Measure bottom and height again.")
        if opening.egress and opening.kept == "reachable":
            what = f"opening {opening.name!r} is a way out and must not be covered"
            yield document.problem((*path, "keep"), what, 'Write keep = "clear".')


def _overlaps(job: Job, document: Document) -> Iterator[Problem]:
    placed = _placed(job)
    if len(placed) > MOST_OPENINGS:
        what = f"{len(placed)} openings are more than the {MOST_OPENINGS} a job may have"
        yield document.problem(placed[-1][0], what, "Split the job into several.")
        return
    for (_, wall, first), (path, other_wall, second) in combinations(placed, 2):
        if wall is other_wall and _meet(_opening_box(first), _opening_box(second)):
            what = f"openings {first.name!r} and {second.name!r} overlap on wall {wall.name!r}"
            yield document.problem((*path, "left"), what, "Measure both again, from the same end.")


def _span(
    path: KeyPath, treatment: Treatment, wall: RoomWall, job: Job, document: Document
) -> Iterator[Problem]:
    ruler = _Ruler(job)
    left, right, _, top = box_of(treatment, wall, job.room.height)
    if right > wall.length:
        what = f"ends at {ruler(right)}, wall {wall.name!r} is {ruler(wall.length)} long"
        yield document.problem((*path, "to"), what, "Measured from the wall's left end.")
    if left >= right:
        what = f"starts at {ruler(left)} and ends at {ruler(right)}"
        yield document.problem((*path, "from"), what, "The left end comes first.")
    if top > job.room.height:
        what = f"reaches {ruler(top)}, the room is {ruler(job.room.height)} high"
        yield document.problem((*path, "band"), what, "Write a smaller bottom or height.")
    wanted = sum(treatment.frames)
    if wanted > right - left >= 0:
        what = f"the frames add up to {ruler(wanted)}, the treatment is {ruler(right - left)} wide"
        yield document.problem((*path, "frames"), what, "Write narrower frames, casings left out.")


_SIDES = {
    "left": {"wall", "casing", "angled", "frame", "free"},
    "right": {"wall", "casing", "angled", "frame", "free"},
    "bottom": {"baseboard", "floor", "casing", "frame", "free", "wall"},
    "top": {"ceiling", "bulkhead", "sill", "casing", "frame", "free", "wall"},
}


def _sides(treatment: Treatment, path: KeyPath, document: Document) -> Iterator[Problem]:
    for side, allowed in _SIDES.items():
        meets = getattr(treatment.sides, side)
        if meets is not None and meets not in allowed:
            what = f"the {side} side cannot meet a {meets}"
            yield document.problem(
                (*path, "sides", side), what, f"Write one of {', '.join(sorted(allowed))}."
            )


def _treatments(job: Job, document: Document) -> Iterator[Problem]:
    plan, height = _plan(job), job.room.height
    for path, treatment in job.each(Treatment):
        yield from _sides(treatment, path, document)
        if treatment.on not in plan:
            continue
        wall = plan[treatment.on]
        yield from _span(path, treatment, wall, job, document)
        box = box_of(treatment, wall, height)
        for m, opening in enumerate(treatment.openings):
            if not _meet(box, _opening_box(opening)):
                what = f"opening {opening.name!r} lies outside the band of treatment {treatment.name!r}"
                fix = f"Move it to [[room.wall.opening]] of wall {wall.name!r}, or measure again."
                yield document.problem((*path, "opening", m, "left"), what, fix)


def _treatments_meet(job: Job, document: Document) -> Iterator[Problem]:
    plan = _plan(job)
    placed = [(path, t) for path, t in job.each(Treatment) if t.on in plan]
    for (_, first), (path, second) in combinations(placed, 2):
        boxes = [box_of(t, plan[t.on], job.room.height) for t in (first, second)]
        if first.on == second.on and _meet(*boxes):
            what = f"treatments {first.name!r} and {second.name!r} overlap on wall {first.on!r}"
            yield document.problem((*path, "on"), what, "Change from, to or band of one of them.")


def _drops(job: Job, document: Document) -> Iterator[Problem]:
    plan, ruler = _plan(job), _Ruler(job)
    for n, drop in enumerate(job.room.drops):
        path: KeyPath = ("room", "drop", n)
        if drop.wall in plan and drop.start + drop.width > plan[drop.wall].length:
            end, length = drop.start + drop.width, plan[drop.wall].length
            what = f"bulkhead {drop.name!r} ends at {ruler(end)}, wall {drop.wall!r} is {ruler(length)} long"
            yield document.problem((*path, "width"), what, "Measure from and width again.")
        if drop.underside >= job.room.height:
            what = f"the underside at {ruler(drop.underside)} is not below the ceiling"
            yield document.problem((*path, "underside"), what, f"The room is {ruler(job.room.height)} high.")


def _corners(job: Job, document: Document) -> Iterator[Problem]:
    ruler, plan = _Ruler(job), _plan(job)
    for path, corner in job.each(Corner):
        top = corner.bottom + (corner.height or 0)
        if top > job.room.height or corner.bottom >= job.room.height:
            what = f"reaches {ruler(top)}, the room is {ruler(job.room.height)} high"
            yield document.problem((*path, "height"), what, "Write a smaller bottom or height.")
        for name in corner.between:
            if name in plan and corner.leg > plan[name].length:
                what = f"the leg is {ruler(corner.leg)}, wall {name!r} only {ruler(plan[name].length)}"
                yield document.problem((*path, "leg"), what, "Write a shorter leg.")


def _corner_boxes(job: Job, wall: str) -> Iterator[tuple[str, Box]]:
    """Yield what each corner trap takes of a wall."""
    length = _plan(job)[wall].length
    for corner in job.of(Corner):
        top = corner.bottom + corner.height if corner.height is not None else job.room.height
        if corner.between[0] == wall:
            yield corner.name, (length - corner.leg, length, corner.bottom, top)
        if corner.between[1] == wall:
            yield corner.name, (0, corner.leg, corner.bottom, top)


def _corners_meet(job: Job, document: Document) -> Iterator[Problem]:
    plan = _plan(job)
    for path, treatment in job.each(Treatment):
        if treatment.on not in plan:
            continue
        box = box_of(treatment, plan[treatment.on], job.room.height)
        for name, corner in _corner_boxes(job, treatment.on):
            if _meet(box, corner):
                what = f"treatment {treatment.name!r} and corner trap {name!r} overlap on {treatment.on!r}"
                yield document.problem((*path, "from"), what, "Start or end it clear of the trap's leg.")


def _below_ceiling(job: Job, document: Document) -> Iterator[Problem]:
    heights: list[tuple[KeyPath, Nm]] = [((*at, "height"), s.height) for at, s in job.each(Screen)]
    heights += [((*at, "drop"), c.drop) for at, c in job.each(Cloud)]
    heights += [(("room", "loudspeakers", n, "z"), s.z) for n, s in enumerate(job.room.loudspeakers)]
    heights += [(("room", "listening", "z"), p.z) for p in (job.room.listening,) if p]
    for path, height in heights:
        if height >= job.room.height:
            what = f"{_Ruler(job)(height)} is not below the ceiling"
            yield document.problem(path, what, f"The room is {_Ruler(job)(job.room.height)} high.")


def _clouds(job: Job, document: Document) -> Iterator[Problem]:
    for path, cloud in job.each(Cloud):
        if cloud.at is not None and cloud.count > 1:
            what = f"{cloud.count} {PIECES[path[0]].words} {cloud.name!r} would hang in one place"
            yield document.problem(
                (*path, "at"), what, f"Write a [[{path[0]}]] for each place, or leave at out."
            )


_CHECKS = (
    _openings, _overlaps, _treatments, _treatments_meet, _drops, _corners, _corners_meet, _below_ceiling,
    _clouds,
)  # fmt: skip


def size_disagreements(job: Job, document: Document) -> Iterator[Problem]:
    """Yield everything that does not fit where the job says it is."""
    for check in _CHECKS:
        yield from check(job, document)
