"""The usual hazards: what triggers each, and with whom it rests. Nothing here states compliance.

With them, whether frames can be made of the sticks there are and lifted by two people, and whether their
screws hold them, with the safety factor shown.
"""

from collections.abc import Iterator, Sequence

from estimator.catalogue.records import Catalogue
from estimator.core.errors import Problem
from estimator.core.units import Display, format_length
from estimator.job.description import Job
from estimator.layout.fixings import holding_n, weight_n
from estimator.layout.records import Frame, Strip, hung_kg
from estimator.layout.sites import Found, found

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


def too_long(frames: Sequence[Frame], catalogue: Catalogue, display: Display) -> list[Problem]:
    """Return a refusal for each member longer than the longest stick; rails were spliced before."""
    found = []
    for frame in frames:
        for member in frame.members:
            longest = max(item.length or 0 for item in catalogue.sizes(member.product))
            if member.length > longest:
                what = f"{member.name} is {format_length(member.length, display)} long"
                fix = f"The longest stick of {member.product} is {format_length(longest, display)}."
                found.append(Problem(frame.name, what, fix))
    return found


def handling(frames: Sequence[Frame], catalogue: Catalogue, display: Display) -> list[Problem]:
    """Return a warning for each frame that is larger or heavier than two people carry and lift."""
    practice, found = catalogue.practice, list[Problem]()
    wide, tall = practice.length("frame_width_max"), practice.length("frame_height_max")
    heavy = practice.number("frame_weight_max")
    fix = "Divide it, or plan for a third person."
    for frame in frames:
        if frame.width > wide or frame.height > tall:
            size = f"{format_length(frame.width, display)} x {format_length(frame.height, display)}"
            what = f"{frame.name} is {size}, larger than two people carry"
            found.append(Problem(frame.name, what, fix, severity="warning"))
        if frame.mass_kg > heavy:
            what = f"{frame.name} weighs {frame.mass_kg:.0f} kg, more than two people lift"
            found.append(Problem(frame.name, what, fix, severity="warning"))
    return found


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
