"""The whole layout of a job: every frame, strip, mark and caution, from the job and the catalogue alone.

Cautions are the usual hazards: what triggers each, and with whom it rests. Nothing here states compliance.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import assert_never

from estimator.catalogue.records import Catalogue
from estimator.core.errors import Problem, refuse_all
from estimator.core.units import Display, Nm, format_length
from estimator.job.description import Job
from estimator.job.description_pieces import Cloud, Corner, Recess, Screen, Treatment
from estimator.layout import corner_places, extent
from estimator.layout.fixings import behind, fixings, holding_n, spread, weight_n
from estimator.layout.frames import Material, cloths, materials, strangers
from estimator.layout.pieces import FrameWanted, weighed
from estimator.layout.plan import RoomPlan, room_plan
from estimator.layout.records import Frame, Layout, Made, Strip, copies, hung_kg, together
from estimator.layout.room_pieces import blocked_ways, cloud, corner, recess, screen
from estimator.layout.sites import Found, Site, doubts, found, level_line, records, refusals, sites
from estimator.layout.strips import BevelRule
from estimator.layout.wall_frames import Choices, cut_bands, wall_frames

LEAD_PAINT_BAN = 1978
"""Source: 16 CFR 1303, US ban on lead paint for consumer use, 1978."""
ASBESTOS_COMMON_UNTIL = 1980
"""Source: US EPA guidance: asbestos was common in building materials until about then (from memory)."""

BOX_FORWARD = "A licensed electrician brings the box forward to the new face, as the local code asks."


def caution(where: str, what: str, fix: str) -> Problem:
    """Return a Problem of severity 'caution'."""
    return Problem(where, what, fix, severity="caution")


def cautions(job: Job, frames: Sequence[Frame], catalogue: Catalogue) -> tuple[Problem, ...]:
    """Return every caution of the job, in a fixed order: building, openings, electrical, fixing, overhead."""
    return (
        *_building(job),
        *_openings(job),
        *_boxes(job, frames),
        *_fixing(job, frames, catalogue),
        *_overhead(frames),
    )


def _building(job: Job) -> Iterator[Problem]:
    built = job.room.built
    if built is None:
        what = "the year of the building is not known"
        lead, asbestos = f"Before {LEAD_PAINT_BAN} paint", f"before {ASBESTOS_COMMON_UNTIL} materials"
        fix = f"{lead} may hold lead, {asbestos} may hold asbestos: find out before drilling or sanding."
        yield caution("room.built", what, fix)
    elif built < ASBESTOS_COMMON_UNTIL:
        lead = "its paint may hold lead and " if built < LEAD_PAINT_BAN else ""
        what = f"the building is of {built}: {lead}its boards, plaster and floors may hold asbestos"
        yield caution(
            "room.built", what, "Have them tested by a qualified person before drilling or sanding."
        )
    for treatment in job.walls:
        if treatment.exterior:
            what = f"{treatment.name} covers an outside wall, which can get damp behind it"
            fix = "Look for damp first; vapour and insulation are for the designer and the local code."
            yield caution(treatment.name, what, fix)
    what = "cloth, boards and trim become part of the room's finish, and their flame spread matters"
    fix = "Ask the suppliers for test reports and the local authority for what it accepts."
    yield caution("job", what, fix)


def _openings(job: Job) -> Iterator[Problem]:
    treated = {t.on for t in job.walls}
    for f in found(job):
        opening = f.opening
        if opening.egress:
            fix = "Keep its full opening free, its lock in reach; the local code says how large it must stay."
            yield caution(opening.name, f"{f.called} is used as a way out in an emergency", fix)
        if f.wall in treated and opening.kind in {"heater", "vent"}:
            yield _warm_air(f)


def _warm_air(f: Found) -> Problem:
    if f.opening.kind == "heater":
        what = f"{f.called} is beside frames of wood and cloth"
        fix = "Its maker's clearances and the local code go before the shop's; ask a licensed trade."
    else:
        what = f"{f.called} moves air that the room needs"
        fix = "Keep it open; changes to it are for a licensed trade."
    return caution(f.opening.name, what, fix)


def _boxes(job: Job, frames: Sequence[Frame]) -> Iterator[Problem]:
    called = {f.opening.name: f.called for f in found(job) if f.boxed}
    for frame in frames:
        for box in frame.boxes:
            yield caution(frame.name, f"{called[box.name]} is behind frame {frame.name}", BOX_FORWARD)


def _fixing(job: Job, frames: Sequence[Frame], catalogue: Catalogue) -> Iterator[Problem]:
    limit = catalogue.practice.length("fixing_past_face_max")
    display = job.header.display
    for host in dict.fromkeys(f.host for f in frames):
        own = [f for f in frames if f.host == host]
        loose = [f.name for f in own if _loose(f)]
        if loose:
            what = f"no stud is certain behind {', '.join(loose)}: the screws hold in gypsum only"
            fix = "Find the studs and screw into them, or use anchors rated for the frame's weight."
            yield caution(host, what, fix)
        single = [f.name for f in own if _on_one_stud(f)]
        if single:
            what = f"only one stud is certain behind {', '.join(single)}: one line of screws holds it"
            fix = "Find a second stud, or add anchors rated for the weight at the far side."
            yield caution(host, what, fix)
        deep = max(
            (x.past_face for f in own for x in f.fixings if x.holds_in in {"stud", "board"}), default=0
        )
        if deep > limit:
            reach = format_length(deep, display)
            what = f"screws of {host} pass the stud's face by {reach}, and cables may lie there"
            fix = f"Use a shorter screw; the shop stays within {format_length(limit, display)}."
            yield caution(host, what, fix)


def _loose(frame: Frame) -> bool:
    """Return whether nothing but gypsum holds the frame."""
    return bool(frame.fixings) and all(x.holds_in in {"board", "frame"} for x in frame.fixings)


def _on_one_stud(frame: Frame) -> bool:
    """Return whether all screws that hold in studs stand in one line."""
    held = [x for x in frame.fixings if x.holds_in == "stud"]
    return bool(held) and 1 in {len({x.x for x in held}), len({x.y for x in held})}


def _overhead(frames: Sequence[Frame]) -> Iterator[Problem]:
    hung = [frame.name for frame in frames if frame.overhead]
    if hung:
        fix = "A qualified person checks the structure above, hangers and fixings before anything is hung."
        yield caution(hung[0], f"{', '.join(hung)} hang{'s' * (len(hung) == 1)} over people", fix)


def too_long(frames: Sequence[Frame], catalogue: Catalogue, display: Display) -> Iterator[Problem]:
    """Yield a refusal for each member longer than the longest stick; rails were spliced before."""
    for frame in frames:
        for member in frame.members:
            longest = max(item.length or 0 for item in catalogue.sizes(member.product))
            if member.length > longest:
                what = f"{member.name} is {format_length(member.length, display)} long"
                fix = f"The longest stick of {member.product} is {format_length(longest, display)}."
                yield Problem(frame.name, what, fix)


def handling(frames: Sequence[Frame], catalogue: Catalogue, display: Display) -> Iterator[Problem]:
    """Yield a warning for each frame that is larger or heavier than two people carry and lift."""
    practice = catalogue.practice
    wide, tall = practice.length("frame_width_max"), practice.length("frame_height_max")
    heavy = practice.number("frame_weight_max")
    fix = "Divide it, or plan for a third person."
    for frame in frames:
        if frame.width > wide or frame.height > tall:
            size = f"{format_length(frame.width, display)} x {format_length(frame.height, display)}"
            what = f"{frame.name} is {size}, larger than two people carry"
            yield Problem(frame.name, what, fix, severity="warning")
        if frame.mass_kg > heavy:
            what = f"{frame.name} weighs {frame.mass_kg:.0f} kg, more than two people lift"
            yield Problem(frame.name, what, fix, severity="warning")


HELD = frozenset({"stud", "masonry"})


def holding(
    host: str, frames: Sequence[Frame], strips: Sequence[Strip], catalogue: Catalogue, display: Display
) -> tuple[list[str], list[Problem]]:
    """Return what is said of a treatment's fixings: the weakest frame's factor, short bites, and warnings.

    The screws' reference withdrawal value is set against the whole weight of the frame with its casings.
    """
    own = [f for f in frames if f.host == host and any(x.holds_in in HELD for x in f.fixings)]
    if not own:
        return [], []
    gravity = catalogue.practice.number("building_stud_gravity")
    wanted = catalogue.practice.number("pullout_safety_factor")
    rows = []
    for frame in own:
        weight = weight_n(hung_kg(frame, strips, catalogue))
        rows.append((holding_n(frame.fixings, gravity, catalogue) / weight if weight else 0.0, weight, frame))
    factor, weight, frame = min(rows, key=lambda r: (r[0], r[2].name))
    masonry = frame.fixings[0].holds_in == "masonry"
    what = "anchors are rated" if masonry else "stud screws hold"
    hold = f"{len(frame.fixings)} {what} {factor * weight:.0f} N"
    reason = (
        f"{host}: {frame.name} holds least: {hold} in withdrawal, "
        f"{factor:.1f} times its weight of {weight:.0f} N (wanted {wanted:g})."
    )
    return [reason], list(_watch(host, rows, wanted, catalogue, display))


def _watch(
    host: str,
    rows: Sequence[tuple[float, float, Frame]],
    wanted: float,
    catalogue: Catalogue,
    display: Display,
) -> Iterator[Problem]:
    weak = [frame.name for factor, _, frame in rows if factor < wanted]
    if weak:
        what = f"the fixings of {', '.join(weak)} resist less than {wanted:g} times the weight"
        yield Problem(host, what, "Add screws, or longer ones.", severity="warning")
    least = catalogue.practice.length("fixing_bite_min")
    screws = [x for _, _, frame in rows for x in frame.fixings if x.holds_in in HELD]
    short = [x.bite for x in screws if x.bite < least]
    if short:
        bite = format_length(min(short), display)
        what = f"the longest fixing screw bites only {bite} in what is behind {host}"
        fix = f"The shop wants {format_length(least, display)}; add a longer screw to the price list."
        yield Problem(host, what, fix, severity="warning")


NO_SIZES: Mapping[str, tuple[Nm, Nm]] = MappingProxyType({})


def lay_out(
    job: Job,
    catalogue: Catalogue,
    sizes: Mapping[str, tuple[Nm, Nm]] = NO_SIZES,
    *,
    optional: bool = False,
) -> Layout:
    """Return the layout of a job.

    Args:
        job: the job; its tables agree with one another, as `job.agreement` has found.
        catalogue: price list and shop practice.
        sizes: width and height of frames that were changed by hand, by name; the rest stays where it is.
        optional: the job with an option: it may leave out a frame that has a colour of its own.

    Returns:
        Frames in the order of `PIECES`, each with its members, cavities, faces, edges and fixings; warnings
        and cautions beside them.

    Raises:
        InputError: everything that cannot be laid out, all at once for each step.
    """
    made = materials(job, catalogue)
    plan, warnings = room_plan(job.room, job.header.display)
    places = sites(job, plan, made)
    display = job.header.display
    traps, boxes = corner_places.refusals(job, plan, display), blocked_ways(job)
    refuse_all([*extent.refusals(job, places), *refusals(job, places), *traps, *boxes])
    choices = _choices(job, catalogue, sizes)
    parts = together([
        _walls(job, plan, places, made, catalogue, choices=choices),
        *(
            copies(
                (name, _piece(FrameWanted(kind, name, p, job, plan, made[p.make_up], catalogue, choices)))
                for name in p.frame_names
            )
            for kind, _, p in job.pieces()
        ),
    ])  # fmt: skip
    names = {f.name for f in parts.frames}
    unknown = [*strangers(job, names, "warning" if optional else "error"), *_unknown(parts.frames, sizes)]
    wrong = (p for p in unknown if p.severity == "error")
    refuse_all([*wrong, *too_long(parts.frames, catalogue, display)])
    held, watched = _holding(places, parts, job, catalogue)
    watched += [*handling(parts.frames, catalogue, display), *doubts(places, display)]
    return Layout(
        room=plan, frames=parts.frames, strips=parts.strips, openings=records(job, catalogue.practice),
        level_line=level_line(job, catalogue.practice),
        hardware=parts.hardware, reasons=(*parts.reasons, *held),
        worked_round=parts.worked_round,
        problems=(*warnings, *unknown, *parts.problems, *watched, *cautions(job, parts.frames, catalogue)),
    )  # fmt: skip


def _piece(wanted: FrameWanted) -> Made:
    """Return one frame of a piece, made in the way of its model."""
    match wanted.piece:
        case Treatment():
            return Made()  # the frames of all treatments are made together
        case Corner() as piece:
            return corner(piece, wanted)
        case Recess() as piece:
            return recess(piece, wanted)
        case Screen() as piece:
            return screen(piece, wanted)
        case Cloud() as piece:
            return cloud(piece, wanted)
        case other:
            assert_never(other)


def _choices(job: Job, catalogue: Catalogue, sizes: Mapping[str, tuple[Nm, Nm]]) -> Choices:
    practice = catalogue.practice
    bevel: BevelRule = "whole" if practice.choice("bevel_rule") == "whole" else "half"
    return Choices(cloths(job, catalogue), sizes, practice, bevel)


def _unknown(frames: Sequence[Frame], sizes: Mapping[str, tuple[Nm, Nm]]) -> Iterator[Problem]:
    """Yield what is wrong with sizes that name frames: no such frame, or too small to build."""
    named = {f.name: f for f in frames}
    for name, size in sizes.items():
        if name not in named:
            what = f"there is no frame {name!r} to change the size of"
            yield Problem(name, what, f"There are {', '.join(sorted(named))}.")
        elif min(size) <= 2 * named[name].members[0].thickness:
            what = f"the new size of {name} leaves nothing between its members"
            yield Problem(name, what, "Write a larger width and height.")


def _walls(
    job: Job,
    plan: RoomPlan,
    places: Sequence[Site],
    made: Mapping[str, Material],
    catalogue: Catalogue,
    *,
    choices: Choices,
) -> Made:
    cuts = cut_bands(job, plan, places, made, catalogue)
    refuse_all(extent.frames(job, sum(len(cut.pieces) for cut in cuts)))
    walls = wall_frames(job, cuts, choices)
    return replace(walls, frames=tuple(_finished(f, places, catalogue) for f in walls.frames))


def _finished(frame: Frame, places: Sequence[Site], catalogue: Catalogue) -> Frame:
    """Return a wall frame with its fixings and its mass."""
    site = next(s for s in places if s.name == frame.host)
    backing = behind(site.treatment.backing, catalogue.practice)
    held = replace(frame, fixings=fixings(frame, backing, catalogue), spread=spread(frame, backing))
    return weighed(held, catalogue)


def _holding(
    places: Sequence[Site], parts: Made, job: Job, catalogue: Catalogue
) -> tuple[list[str], list[Problem]]:
    reasons, problems = list[str](), list[Problem]()
    for site in places:
        said, watched = holding(site.name, parts.frames, parts.strips, catalogue, job.header.display)
        reasons += said
        problems += watched
    return reasons, problems
