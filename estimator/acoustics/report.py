"""What is found about a room: before, after, what is heard first; as records, in plain words, as JSON.

Octaves below the Schroeder frequency are left empty. Every figure is an estimate and said to be one.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from estimator.acoustics.ratings import OCTAVES_HZ
from estimator.acoustics.reflections import (
    EARLY_DB,
    EARLY_MS,
    Point,
    ReflectingRoom,
    Reflection,
    first_reflections,
)
from estimator.acoustics.reverberation import NAMES, RANGE, Reverberation, reverberation
from estimator.acoustics.room import Body, Mode, Patch, RoomModel, treat
from estimator.acoustics.smallest import Offer, Smallest, smallest_area
from estimator.acoustics.targets import Target, TargetVerdict, judge
from estimator.core.errors import Problem
from estimator.core.units import Display, area_text


@dataclass(frozen=True, slots=True)
class Heard:
    """First reflections from one loudspeaker at the listening position, the earliest first.

    Attributes:
        strong_before, strong_after: how many early reflections stand above -10 dB, bare and as treated.
    """

    loudspeaker: str
    reflections: tuple[Reflection, ...]
    strong_before: int
    strong_after: int


@dataclass(frozen=True, slots=True)
class Listening:
    """Where sound comes from and where it is heard: named loudspeakers and one listening position, m."""

    room: ReflectingRoom
    loudspeakers: tuple[tuple[str, Point], ...]
    listener: Point


@dataclass(frozen=True, slots=True)
class RoomReport:
    """Everything the documents and the workbook show of the room's sound.

    Attributes:
        treated_m2: face area of the panels on the room's surfaces.
        smallest: least areas that meet the target by each formula; empty where not asked for.
        paragraph: plain words for the client.
        notes: what was capped, hidden or taken from where, to be printed small.
        modes: the lowest modes of the bare room where it is a box, as frequencies only; else empty.
    """

    octaves_hz: tuple[int, ...]
    before: Reverberation
    after: Reverberation
    target: Target | None
    treated_m2: float
    heard: tuple[Heard, ...]
    smallest: tuple[Smallest, ...]
    paragraph: str
    notes: tuple[str, ...]
    problems: tuple[Problem, ...]
    modes: tuple[Mode, ...] = ()


MIDDLE_HZ = (500, 1000)

ESTIMATED = "estimated, not guaranteed"


def _span(low: float, high: float) -> str:
    a, b = f"{low:.2f}", f"{high:.2f}"
    return f"{a} s" if a == b else f"{a} to {b} s"


def _middle(state: Reverberation) -> str:
    """The range of the middle octaves in words, '' where neither is stated."""
    at = [OCTAVES_HZ.index(hz) for hz in MIDDLE_HZ]
    lows = [low for i in at if (low := state.low_s[i]) is not None]
    highs = [high for i in at if (high := state.high_s[i]) is not None]
    return _span(min(lows), max(highs)) if lows and highs else ""


def _times_sentence(before: Reverberation, after: Reverberation, covered: str, hung: int) -> str:
    free = f"{hung} pieces that hang or stand" if hung > 1 else "a piece that hangs or stands"
    pieces = f" and {free} in it" if hung else ""
    was, will = _middle(before), _middle(after)
    if not was or not will:
        return f"With {covered} of panels{pieces} no reverberation time can be stated for the middle octaves."
    return (
        f"In the middle octaves (500 and 1000 Hz) the room's reverberation time is about {was} now and about "
        f"{will} with {covered} of panels{pieces}. Each range is what four textbook formulas give."
    )


def _missed(verdict: TargetVerdict, target: Target) -> str:
    """On which side a target is missed, '' where it is met or missed on both."""
    if verdict.met_by:
        return ""
    sides = {word for word in verdict.octaves if word} - {"within"}
    if verdict.mean_low_s is not None and verdict.mean_low_s > target.time_s:
        sides.add("above")
    if sides == {"above"}:
        return ": it stays longer"
    return ": it becomes shorter" if sides == {"below"} else ""


def _target_sentence(target: Target | None, after: Reverberation) -> str:
    if target is None:
        return ""
    verdict = judge(target, after)
    who = target.description[:1].lower() + target.description[1:]
    aim = f"The time aimed at is {target.time_s:.2f} s ({who})"
    return f"{aim}; on these estimates it is {verdict.word}{_missed(verdict, target)}."


def _reflections_sentence(heard: Sequence[Heard]) -> str:
    if not heard:
        return ""
    was, will = sum(h.strong_before for h in heard), sum(h.strong_after for h in heard)
    return f"Early reflections that stand out at the listening position: {was} now, {will} with the panels."


def _hidden_sentence(after: Reverberation) -> str:
    names = [f"{hz} Hz" for hz, low in zip(OCTAVES_HZ, after.low_s, strict=True) if low is None]
    if not names:
        return ""
    return f"Nothing is stated for {' and '.join(names)}, where single tones of the room rule."


def paragraph(
    states: tuple[Reverberation, Reverberation],
    target: Target | None,
    heard: Sequence[Heard],
    covered: tuple[float, int],
    display: Display = "metric",
) -> str:
    """Return what the treatment does, in words a client can check.

    Args:
        states: the room before and after.
        target: what is aimed at.
        heard: first reflections.
        covered: treated area, m2, and number of hung pieces.
        display: whether areas are in square feet or square metres.
    """
    before, after = states
    said = [
        f"These figures are {ESTIMATED}.",
        _times_sentence(before, after, area_text(covered[0], display), covered[1]),
        _target_sentence(target, after),
        _reflections_sentence(heard),
        _hidden_sentence(after),
        "The panels change the sound within the room; they do not keep sound in or out.",
    ]
    return " ".join(s for s in said if s)


def _strong_bare(reflection: Reflection) -> bool:
    return reflection.visible and reflection.early and reflection.level_before_db > EARLY_DB


def hear(listening: Listening, c: float) -> tuple[Heard, ...]:
    """Return the first reflections of every loudspeaker.

    Args:
        listening: plan, loudspeakers and listening position.
        c: speed of sound, m/s.

    Raises:
        InputError: a position outside the room.
    """
    each = [
        (name, first_reflections(listening.room, source, listening.listener, c))
        for name, source in listening.loudspeakers
    ]
    return tuple(
        Heard(name, found, sum(map(_strong_bare, found)), sum(r.strong for r in found))
        for name, found in each
    )


def _notes(after: Reverberation, target: Target | None, room: RoomModel) -> tuple[str, ...]:
    found = {s.source for s in room.surfaces if s.source} | {b.source for b in room.bodies if b.source}
    notes = [f"Reverberation: {', '.join(NAMES[f] for f in RANGE)}; air at {room.temperature_c:g} °C."]
    notes += [f"Absorption: {source}." for source in sorted(found)]
    if target:
        notes.append(f"Time aimed at: {target.source}.")
        notes += [f"Limits: {target.mask_source}."] if target.mask_source else []
    else:
        notes.append("No time is aimed at: no public figure is held for this use, and none was given.")
    notes.append(f"Early reflections: within {EARLY_MS:g} ms, above {EARLY_DB:g} dB, 1 to 4 kHz.")
    capped = [p.what for p in after.problems if "taken as" in p.what]
    return (*notes, *(f"{what[:1].upper()}{what[1:]}." for what in capped))


def room_report(
    room: RoomModel,
    patches: tuple[Patch, ...],
    bodies: tuple[Body, ...] = (),
    target: Target | None = None,
    listening: Listening | None = None,
    offers: Sequence[Offer] = (),
    display: Display = "metric",
) -> RoomReport:
    """Return everything the papers show of the room's sound.

    Args:
        room: the room before.
        patches: treatment on its surfaces.
        bodies: screens and clouds, made with `both_faces`.
        target: time to aim at.
        listening: loudspeakers and listening position, where they are known.
        offers: surfaces that may be treated, to seek the smallest area for the target.
        display: units of the paragraph.

    Raises:
        InputError: a room, treatment or position that cannot be.
    """
    treated = treat(room, patches, bodies)
    before, after = reverberation(room), reverberation(treated)
    heard = hear(listening, room.speed_m_s) if listening else ()
    treated_m2 = sum(p.area_m2 for p in patches)
    return RoomReport(
        octaves_hz=OCTAVES_HZ,
        before=before,
        after=after,
        target=target,
        treated_m2=treated_m2,
        heard=heard,
        smallest=smallest_area(room, offers, target) if target and offers else (),
        paragraph=paragraph((before, after), target, heard, (treated_m2, len(bodies)), display),
        notes=_notes(after, target, treated),
        problems=after.problems,
    )


def _plain_state(state: Reverberation, target: Target | None) -> dict[str, Any]:
    verdict = judge(target, state) if target else None
    return {
        **{str(formula): list(state.times_s[formula]) for formula in RANGE},
        "low": list(state.low_s),
        "high": list(state.high_s),
        "absorption_m2": list(state.absorption_m2),
        "schroeder_hz": state.schroeder_hz,
        "target": verdict.word if verdict else None,
        "target_octaves": list(verdict.octaves) if verdict else None,
    }


def _plain_reflection(loudspeaker: str, r: Reflection) -> dict[str, Any]:
    return {
        "loudspeaker": loudspeaker,
        "surface": r.surface,
        "path_m": r.path_m,
        "delay_ms": r.delay_ms,
        "level_db": r.level_before_db,
        "level_after_db": r.level_after_db,
        "point_m": list(r.point),
        "frame": r.panel or None,
        "visible": r.visible,
        "strong": r.strong,
    }


def _plain_target(target: Target | None, after: Reverberation) -> dict[str, Any] | None:
    if target is None:
        return None
    verdict = judge(target, after)
    return {
        "key": target.key,
        "time_s": target.time_s,
        "low_s": list(target.low_s),
        "high_s": list(target.high_s),
        "mean_hz": list(target.mean_hz),
        "source": str(target.source),
        "met": verdict.word,
        "met_by": list(verdict.met_by),
    }


def plain(report: RoomReport) -> dict[str, Any]:
    """Return a report as the JSON object of the program's ``--json``."""
    return {
        "octaves_hz": list(report.octaves_hz),
        "before": _plain_state(report.before, report.target),
        "after": _plain_state(report.after, report.target),
        "treated_m2": report.treated_m2,
        "target": _plain_target(report.target, report.after),
        "reflections": [_plain_reflection(h.loudspeaker, r) for h in report.heard for r in h.reflections],
        "smallest": [
            {
                "formula": s.formula,
                "met": s.met,
                "total_m2": s.total_m2,
                "areas_m2": dict(s.areas),
                "above_hz": list(s.above_hz),
            }
            for s in report.smallest
        ],
        "modes": [{"f_hz": m.f_hz, "order": list(m.order), "kind": m.kind} for m in report.modes],
        "paragraph": report.paragraph,
        "notes": list(report.notes),
    }
