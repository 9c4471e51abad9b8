"""Whether a job's tables agree with one another: names first, then whether all fits where it is to be."""

import re
from collections.abc import Iterator, Sequence
from itertools import combinations

from estimator.core.errors import Problem
from estimator.core.units import Nm, format_length
from estimator.intake.structured import KeyPath
from estimator.job.description import Colour, Job
from estimator.job.description_pieces import PIECES, BandSize, Cloud, Corner, Recess, Screen, Treatment
from estimator.job.description_room import Opening, RoomWall
from estimator.job.document import Document, nearest

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


def _opening_sizes(job: Job, document: Document) -> Iterator[Problem]:
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
        elif opening.kept == "reachable" and opening.kind not in {"outlet", "switch"}:
            what = f"{opening.kind} {opening.name!r} cannot be reached through a frame"
            yield document.problem((*path, "keep"), what, 'Write keep = "clear", or leave keep out.')


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


def _corner_sizes(job: Job, document: Document) -> Iterator[Problem]:
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


_SIZE_CHECKS = (
    _opening_sizes, _overlaps, _treatments, _treatments_meet, _drops, _corner_sizes, _corners_meet,
    _below_ceiling, _clouds,
)  # fmt: skip


def size_disagreements(job: Job, document: Document) -> Iterator[Problem]:
    """Yield everything that does not fit where the job says it is."""
    for check in _SIZE_CHECKS:
        yield from check(job, document)


Named = tuple[KeyPath, str]
BASE = "base"
"""What the job without its options is called beside them."""


def _pieces(job: Job) -> list[Named]:
    return [((kind, n), piece.name) for kind, n, piece in job.pieces()]


def _openings(job: Job) -> list[Named]:
    plan: list[Named] = [
        (("room", "wall", n, "opening", m), o.name)
        for n, w in enumerate(job.room.walls)
        for m, o in enumerate(w.openings)
    ]
    own: list[Named] = [
        ((*at, "opening", m), o.name) for at, t in job.each(Treatment) for m, o in enumerate(t.openings)
    ]
    return [*plan, *own]


def _twice(named: Sequence[Named], what: str, document: Document) -> Iterator[Problem]:
    first: dict[str, KeyPath] = {}
    for path, name in named:
        before = first.setdefault(name.casefold(), path)
        if before != path:
            message = f"the name {name!r} is taken by another {what}"
            yield document.problem((*path, "name"), message, "Give each its own name.")


def _frame_names(job: Job, document: Document) -> Iterator[Problem]:
    """Frames are called after their piece, N1, N2 …, so no piece may be called like a frame of another."""
    names = {name for _, name in _pieces(job)}
    for path, name in _pieces(job):
        stem = re.sub(r"\d+$", "", name)
        if stem != name and stem in names:
            what = f"{name!r} would be the name of a frame of {stem!r} too"
            yield document.problem((*path, "name"), what, "Choose a name that does not end in a number.")


def _known(
    path: KeyPath, name: str, known: Sequence[str], what: str, document: Document
) -> Iterator[Problem]:
    if name not in known:
        yield document.problem(path, f"there is no {what} {name!r}", nearest(name, known))


def _walls(job: Job, document: Document) -> Iterator[Problem]:
    plan = [w.name for w in job.room.walls]
    for at, treatment in job.each(Treatment):
        yield from _known((*at, "on"), treatment.on, plan, "wall of the plan", document)
    for n, drop in enumerate(job.room.drops):
        yield from _known(("room", "drop", n, "wall"), drop.wall, plan, "wall of the plan", document)


def _make_ups(job: Job, document: Document) -> Iterator[Problem]:
    for kind, n, piece in job.pieces():
        yield from _known((kind, n, "make-up"), piece.make_up, list(job.make_ups), "make-up", document)


def _corners(job: Job, document: Document) -> Iterator[Problem]:
    plan = [w.name for w in job.room.walls]
    for at, corner in job.each(Corner):
        path = (*at, "between")
        unknown = [name for name in corner.between if name not in plan]
        if unknown:
            yield from _known(path, unknown[0], plan, "wall of the plan", document)
            continue
        left, right = (plan.index(name) for name in corner.between)
        if (left + 1) % len(plan) != right:
            following = plan[(left + 1) % len(plan)]
            what = f"wall {corner.between[1]!r} does not follow wall {corner.between[0]!r}"
            yield document.problem(path, what, f"After {plan[left]!r} comes {following!r}.")
        elif job.room.walls[left].turn <= 0:
            what = f"the plan turns by {job.room.walls[left].turn:g} degrees there, no inside corner"
            yield document.problem(path, what, "A trap needs a turn of more than 0.")


def _recesses(job: Job, document: Document) -> Iterator[Problem]:
    plan = [w.name for w in job.room.walls]
    hosts = {**{name: name for name in plan}, **{t.name: t.on for t in job.walls}}
    for at, recess in job.each(Recess):
        unknown = list(_known((*at, "wall"), recess.wall, list(hosts), "wall", document))
        yield from unknown
        if unknown:
            continue
        windows = [o.name for o in job.openings_on(hosts[recess.wall]) if o.kind == "window"]
        yield from _known((*at, "opening"), recess.opening, windows, "window", document)


def _colour_tables(job: Job) -> Iterator[tuple[KeyPath, Colour]]:
    yield from ((("colour", n), c) for n, c in enumerate(job.colours))
    for n, option in enumerate(job.options):
        yield from ((("option", n, "colour", m), c) for m, c in enumerate(option.colour))


def _colours(job: Job, document: Document) -> Iterator[Problem]:
    names = job.piece_names()
    for path, colour in _colour_tables(job):
        if bool(colour.frames) == bool(colour.wall):
            yield document.problem(
                path, "says both or neither of frames and wall", "Name frames, or one wall."
            )
        if colour.fabric is None and colour.colour is None:
            yield document.problem(path, "changes nothing", "Give fabric, colour or both.")
        if colour.wall:
            yield from _known((*path, "wall"), colour.wall, names, "treatment or piece", document)
        for m, frame in enumerate(colour.frames):
            if frame not in names and re.sub(r"\d+$", "", frame) not in names:
                what = f"{frame!r} is no frame of any treatment or piece"
                fix = "Frames are named N1, N2 … after treatment N."
                yield document.problem((*path, "frames", m), what, fix)


def _options(job: Job, document: Document) -> Iterator[Problem]:
    treatments, make_ups = [t.name for t in job.walls], list(job.make_ups)
    pieces = job.piece_names()
    for n, option in enumerate(job.options):
        path: KeyPath = ("option", n)
        if option.name.casefold() == BASE:
            what = f"the name {option.name!r} is kept for the job without its options"
            yield document.problem((*path, "name"), what, "Choose another name.")
        for old, new in option.make_up.items():
            yield from _known((*path, "make-up", old), old, make_ups, "make-up", document)
            yield from _known((*path, "make-up", old), new, make_ups, "make-up", document)
        for name in option.finish:
            yield from _known((*path, "finish", name), name, make_ups, "make-up", document)
        for name in option.band:
            yield from _known((*path, "band", name), name, treatments, "treatment", document)
        for m, name in enumerate(option.drop):
            yield from _known((*path, "drop", m), name, pieces, "treatment or piece", document)
        if pieces and set(option.drop) >= set(pieces):
            what = f"option {option.name!r} leaves nothing to build"
            yield document.problem((*path, "drop"), what, "Leave out fewer treatments or pieces.")
        if not any((option.make_up, option.colour, option.band, option.finish, option.drop)):
            fix = "Give make-up, colour, band, finish or drop."
            yield document.problem(path, f"option {option.name!r} changes nothing", fix)


def _dates(job: Job, document: Document) -> Iterator[Problem]:
    header = job.header
    if header.start is not None and header.start < header.date:
        what = f"work starts before the day of the estimate, {header.date.isoformat()}"
        yield document.problem(("job", "start"), what, "Check both dates.", "warning")


_CHECKS = (
    _dates, _frame_names, _walls, _make_ups, _corners, _recesses, _colours, _options, size_disagreements,
)  # fmt: skip


def disagreements(job: Job, document: Document) -> list[Problem]:
    """Return everything in which a job's tables do not agree, errors and warnings, in the file's order."""
    found: list[Problem] = []
    if not job.piece_names():
        *most, last = (f"[[{key}]]" for key in PIECES)
        fix = f"Add {', '.join(most)} or {last}."
        found.append(document.problem(("job",), "there is nothing to build", fix))
    plan: list[Named] = [(("room", "wall", n), w.name) for n, w in enumerate(job.room.walls)]
    options: list[Named] = [(("option", n), o.name) for n, o in enumerate(job.options)]
    drops: list[Named] = [(("room", "drop", n), d.name) for n, d in enumerate(job.room.drops)]
    speakers: list[Named] = [
        (("room", "loudspeakers", n), s.name) for n, s in enumerate(job.room.loudspeakers)
    ]
    groups = (
        (plan, "wall of the plan"), (drops, "bulkhead"), (_openings(job), "opening"),
        (_pieces(job), "treatment or piece"), (options, "option"), (speakers, "loudspeaker"),
    )  # fmt: skip
    for named, what in groups:
        found += _twice(named, what, document)
    for check in _CHECKS:
        found += check(job, document)
    return sorted(found, key=lambda p: (p.line, p.where, p.what))
