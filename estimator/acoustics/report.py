"""What the papers show of the room: figures before and after, reflections, the target, a plain paragraph.

Octaves below the Schroeder frequency are left empty. Every figure is an estimate.
"""

from collections.abc import Sequence
from typing import Any

from estimator.acoustics.bands import OCTAVES_HZ
from estimator.acoustics.findings import Heard, Listening, RoomReport, Shown, State
from estimator.acoustics.paragraph import paragraph
from estimator.acoustics.reflections import EARLY_DB, EARLY_MS, Reflection, clear, first_reflections
from estimator.acoustics.reverberation import NAMES, RANGE, Change, Reverberation, before_after
from estimator.acoustics.room import Body, Patch, RoomModel
from estimator.acoustics.smallest import Offer, smallest_area
from estimator.acoustics.targets import Target, Verdict, judge
from estimator.core.units import Display


def _only(values: Sequence[float], shown: Sequence[bool]) -> Shown:
    return tuple(v if yes else None for v, yes in zip(values, shown, strict=True))


def _state(estimate: Reverberation, target: Target | None) -> State:
    return State(
        times_s={f: _only(estimate.times_s[f], estimate.shown) for f in RANGE},
        low_s=_only(estimate.low_s, estimate.shown),
        high_s=_only(estimate.high_s, estimate.shown),
        absorption_m2=estimate.absorption_m2,
        schroeder_hz=estimate.schroeder_hz,
        verdict=judge(target, estimate) if target else None,
    )


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
    heard = []
    for name, source in listening.loudspeakers:
        found = first_reflections(listening.plan, source, listening.listener, c)
        heard.append(
            Heard(
                loudspeaker=name,
                direct_clear=clear(listening.plan.walls, source, listening.listener),
                reflections=found,
                strong_before=sum(map(_strong_bare, found)),
                strong_after=sum(r.strong for r in found),
            )
        )
    return tuple(heard)


def _notes(change: Change, target: Target | None, room: RoomModel) -> tuple[str, ...]:
    found = {s.source for s in room.surfaces if s.source} | {b.source for b in room.bodies if b.source}
    notes = [f"Reverberation: {', '.join(NAMES[f] for f in RANGE)}; air at {room.temperature_c:g} °C."]
    notes += [f"Absorption: {source}." for source in sorted(found)]
    if target:
        notes.append(f"Time aimed at: {target.source}.")
        notes += [f"Limits: {target.mask_source}."] if target.mask_source else []
    else:
        notes.append("No time is aimed at: no public figure is held for this use, and none was given.")
    notes.append(f"Early reflections: within {EARLY_MS:g} ms, above {EARLY_DB:g} dB, 1 to 4 kHz.")
    capped = [p.what for p in change.after.problems if "taken as" in p.what]
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
    change = before_after(room, patches, bodies)
    before, after = _state(change.before, target), _state(change.after, target)
    heard = hear(listening, room.speed_m_s) if listening else ()
    treated = sum(p.area_m2 for p in patches)
    return RoomReport(
        octaves_hz=OCTAVES_HZ,
        before=before,
        after=after,
        target=target,
        treated_m2=treated,
        hung=tuple(b.name for b in bodies),
        heard=heard,
        smallest=smallest_area(room, offers, target) if target and offers else (),
        paragraph=paragraph((before, after), target, heard, (treated, len(bodies)), display),
        notes=_notes(change, target, change.after_room),
        problems=change.after.problems,
    )


def _plain_state(state: State) -> dict[str, Any]:
    verdict = state.verdict
    return {
        **{str(formula): list(times) for formula, times in state.times_s.items()},
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


def _plain_target(target: Target | None, verdict: Verdict | None) -> dict[str, Any] | None:
    if target is None or verdict is None:
        return None
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
        "before": _plain_state(report.before),
        "after": _plain_state(report.after),
        "treated_m2": report.treated_m2,
        "target": _plain_target(report.target, report.after.verdict),
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
