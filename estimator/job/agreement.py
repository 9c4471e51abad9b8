"""Whether a job's tables agree with one another: names first, then whether all fits where it is to be."""

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import partial
from itertools import combinations

from estimator.core.errors import Problem
from estimator.core.units import Nm, format_length
from estimator.intake.structured import KeyPath
from estimator.job.description import Colour, Job, JobOption
from estimator.job.description_pieces import PIECES, BandSize, Cloud, Corner, Recess, Screen, Treatment
from estimator.job.description_room import Drop, Loudspeaker, Opening, RoomWall
from estimator.job.document import Document, nearest

MOST_OPENINGS = 500
Placed = tuple[KeyPath, RoomWall, Opening]
Box = tuple[Nm, Nm, Nm, Nm]


def _ruler(job: Job) -> Callable[[Nm], str]:
    """Return what writes lengths as the job shows them."""
    return partial(format_length, display=job.header.display)


Fault = tuple[bool, KeyPath, str, str]
"""Whether it is one, where it is in its table, what is wrong, what would be right."""


def _told(path: KeyPath, document: Document, faults: Iterable[Fault]) -> Iterator[Problem]:
    """Yield the faults of the table at `path` that are there."""
    return (document.problem((*path, *tail), what, fix) for wrong, tail, what, fix in faults if wrong)


def _plan(job: Job) -> dict[str, RoomWall]:
    return {wall.name: wall for wall in job.room.walls}


def _openings(job: Job) -> list[tuple[KeyPath, str, Opening]]:
    """Return every opening with its path and the name of its wall."""
    return [
        *((("room", "wall", n, "opening", m), wall.name, o)
          for n, wall in enumerate(job.room.walls) for m, o in enumerate(wall.openings)),
        *(((*at, "opening", m), t.on, o)
          for at, t in job.each(Treatment) for m, o in enumerate(t.openings)),
    ]  # fmt: skip


def _placed(job: Job) -> list[Placed]:
    """Return every opening that is on a known wall, with its path."""
    plan = _plan(job)
    return [(path, plan[wall], opening) for path, wall, opening in _openings(job) if wall in plan]


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
    ruler, height = _ruler(job), job.room.height
    for path, wall, opening in _placed(job):
        named, (_, right, _, top) = f"opening {opening.name!r}", _opening_box(opening)
        reachable, boxed = opening.kept == "reachable", opening.kind in {"outlet", "switch"}
        faults: list[Fault] = [
            (right > wall.length, ("width",),
             f"{named} ends at {ruler(right)}, wall {wall.name!r} at {ruler(wall.length)}",
             "Measure left and width again."),
            (top > height, ("height",),
             f"{named} reaches {ruler(top)}, the room is {ruler(height)} high",
             "Measure bottom and height again."),
            (reachable and opening.egress, ("keep",),
             f"{named} is a way out and must not be covered",
             'Write keep = "clear".'),
            (reachable and not opening.egress and not boxed, ("keep",),
             f"{opening.kind} {opening.name!r} cannot be reached through a frame",
             'Write keep = "clear", or leave keep out.'),
        ]  # fmt: skip
        yield from _told(path, document, faults)


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
    ruler, height, wanted = _ruler(job), job.room.height, sum(treatment.frames)
    left, right, _, top = box_of(treatment, wall, height)
    faults: list[Fault] = [
        (right > wall.length, ("to",),
         f"ends at {ruler(right)}, wall {wall.name!r} is {ruler(wall.length)} long",
         "Measured from the wall's left end."),
        (left >= right, ("from",),
         f"starts at {ruler(left)} and ends at {ruler(right)}",
         "The left end comes first."),
        (top > height, ("band",),
         f"reaches {ruler(top)}, the room is {ruler(height)} high",
         "Write a smaller bottom or height."),
        (wanted > right - left >= 0, ("frames",),
         f"the frames add up to {ruler(wanted)}, the treatment is {ruler(right - left)} wide",
         "Write narrower frames, casings left out."),
    ]  # fmt: skip
    yield from _told(path, document, faults)


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
    plan, ruler = _plan(job), _ruler(job)
    for n, drop in enumerate(job.room.drops):
        end = drop.start + drop.width
        length = plan[drop.wall].length if drop.wall in plan else end
        faults: list[Fault] = [
            (end > length, ("width",),
             f"bulkhead {drop.name!r} ends at {ruler(end)}, wall {drop.wall!r} is {ruler(length)} long",
             "Measure from and width again."),
            (drop.underside >= job.room.height, ("underside",),
             f"the underside at {ruler(drop.underside)} is not below the ceiling",
             f"The room is {ruler(job.room.height)} high."),
        ]  # fmt: skip
        yield from _told(("room", "drop", n), document, faults)


def _corner_sizes(job: Job, document: Document) -> Iterator[Problem]:
    ruler, plan, height = _ruler(job), _plan(job), job.room.height
    for path, corner in job.each(Corner):
        top = corner.bottom + (corner.height or 0)
        walls = [plan[name] for name in corner.between if name in plan]
        faults: list[Fault] = [
            (top > height or corner.bottom >= height, ("height",),
             f"reaches {ruler(top)}, the room is {ruler(height)} high",
             "Write a smaller bottom or height."),
            *((corner.leg > wall.length, ("leg",),
               f"the leg is {ruler(corner.leg)}, wall {wall.name!r} only {ruler(wall.length)}",
               "Write a shorter leg.") for wall in walls),
        ]  # fmt: skip
        yield from _told(path, document, faults)


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
    ruler, room = _ruler(job), job.room
    heights: list[tuple[KeyPath, Nm]] = [
        *(((*at, "height"), s.height) for at, s in job.each(Screen)),
        *(((*at, "drop"), c.drop) for at, c in job.each(Cloud)),
        *((("room", "loudspeakers", n, "z"), s.z) for n, s in enumerate(room.loudspeakers)),
        *((("room", "listening", "z"), p.z) for p in (room.listening,) if p),
    ]
    fix = f"The room is {ruler(room.height)} high."
    faults = ((z >= room.height, at, f"{ruler(z)} is not below the ceiling", fix) for at, z in heights)
    yield from _told((), document, faults)


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
        unknown = [
            (m, name)
            for m, name in enumerate(colour.frames)
            if name not in names and re.sub(r"\d+$", "", name) not in names
        ]
        faults: list[Fault] = [
            (bool(colour.frames) == bool(colour.wall), (),
             "says both or neither of frames and wall", "Name frames, or one wall."),
            (colour.fabric is None and colour.colour is None, (),
             "changes nothing", "Give fabric, colour or both."),
            *((True, ("frames", m), f"{name!r} is no frame of any treatment or piece",
               "Frames are named N1, N2 … after treatment N.") for m, name in unknown),
        ]  # fmt: skip
        yield from _told(path, document, faults)
        if colour.wall:
            yield from _known((*path, "wall"), colour.wall, names, "treatment or piece", document)


def _options(job: Job, document: Document) -> Iterator[Problem]:
    treatments, make_ups = [t.name for t in job.walls], list(job.make_ups)
    pieces = job.piece_names()
    for n, option in enumerate(job.options):
        path: KeyPath = ("option", n)
        named: list[tuple[KeyPath, str, Sequence[str], str]] = [
            *((("make-up", old), name, make_ups, "make-up") for old in option.make_up
              for name in (old, option.make_up[old])),
            *((("finish", name), name, make_ups, "make-up") for name in option.finish),
            *((("band", name), name, treatments, "treatment") for name in option.band),
            *((("drop", m), name, pieces, "treatment or piece") for m, name in enumerate(option.drop)),
        ]  # fmt: skip
        for tail, name, known, what in named:
            yield from _known((*path, *tail), name, known, what, document)
        changes = (option.make_up, option.colour, option.band, option.finish, option.drop)
        faults: list[Fault] = [
            (option.name.casefold() == BASE, ("name",),
             f"the name {option.name!r} is kept for the job without its options", "Choose another name."),
            (bool(pieces) and set(option.drop) >= set(pieces), ("drop",),
             f"option {option.name!r} leaves nothing to build", "Leave out fewer treatments or pieces."),
            (not any(changes), (),
             f"option {option.name!r} changes nothing", "Give make-up, colour, band, finish or drop."),
        ]  # fmt: skip
        yield from _told(path, document, faults)


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
    tables: list[tuple[str, KeyPath, Sequence[RoomWall | Drop | JobOption | Loudspeaker]]] = [
        ("wall of the plan", ("room", "wall"), job.room.walls),
        ("bulkhead", ("room", "drop"), job.room.drops),
        ("option", ("option",), job.options),
        ("loudspeaker", ("room", "loudspeakers"), job.room.loudspeakers),
    ]
    for what, head, entries in tables:
        found += _twice([((*head, n), one.name) for n, one in enumerate(entries)], what, document)
    found += _twice([(path, opening.name) for path, _, opening in _openings(job)], "opening", document)
    found += _twice(_pieces(job), "treatment or piece", document)
    for check in _CHECKS:
        found += check(job, document)
    return sorted(found, key=lambda p: (p.line, p.where, p.what))
