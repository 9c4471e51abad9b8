"""Whether a job's tables agree with one another: names, places and sizes."""

import re
from collections.abc import Iterator, Sequence

from estimator.core.errors import Problem
from estimator.intake.structured import KeyPath
from estimator.job.agreement_sizes import size_disagreements
from estimator.job.description import Colour, Job
from estimator.job.description_pieces import Corner, Recess, Treatment
from estimator.job.document import Document
from estimator.job.piece_kinds import PIECES
from estimator.job.refusals import nearest

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


def _colour_tables(job: Job) -> list[tuple[KeyPath, Colour]]:
    tables: list[tuple[KeyPath, Colour]] = [(("colour", n), c) for n, c in enumerate(job.colours)]
    for n, option in enumerate(job.options):
        tables += [(("option", n, "colour", m), c) for m, c in enumerate(option.colour)]
    return tables


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
