"""The verb `room`: what the treatment of a job does for its room, estimated."""

from collections import Counter
from typing import TYPE_CHECKING, Any

from estimator.cli.output import Job, Result, Verbs, say

if TYPE_CHECKING:
    from estimator.core.units import Display


def room_verb(job: Job) -> Result:
    """Estimate what the treatment does for the room: reverberation, reflections, target."""
    from estimator.acoustics.report import plain
    from estimator.acoustics.survey import report_of
    from estimator.catalogue.load import load
    from estimator.job.document import at_lines
    from estimator.layout.assembly import lay_out

    described, catalogue, warnings = load(job)
    with at_lines(job) as place:
        layout = lay_out(described, catalogue)
        report = report_of(described, layout, catalogue, seek=True)
    shown = {**plain(report), "display": described.header.display}
    return (*warnings, *place(report.problems)), shown


def _time(value: float | None) -> str:
    return f"{value:8.2f}" if value is not None else "       –"


def _show(result: dict[str, Any]) -> None:
    say(result["paragraph"])
    say("")
    say("Reverberation time, s (estimated, not guaranteed)")
    say("octave, Hz            " + "".join(f"{hz:8d}" for hz in result["octaves_hz"]))
    for state in ("before", "after"):
        for end in ("low", "high"):
            say(f"{state + ', ' + end:<22}" + "".join(map(_time, result[state][end])))
    if result["modes"]:
        say(f"lowest tones of the bare box, Hz: {_tones(result['modes'])}")
    for found in result["smallest"]:
        say(_smallest(found, result["display"]))
    for one in result["reflections"]:
        if one["visible"]:
            say(_reflection(one))


def _tones(modes: list[dict[str, Any]]) -> str:
    """Return the frequencies of modes in words, those that fall on one frequency said together."""
    counted = Counter(f"{mode['f_hz']:.1f}" for mode in modes)
    return ", ".join(f"{hz} (x{count})" if count > 1 else hz for hz, count in counted.items())


def _smallest(found: dict[str, Any], display: "Display") -> str:
    """Return the least area that meets the target by one formula, in words."""
    from estimator.acoustics.reverberation import NAMES
    from estimator.core.units import area_text

    by = f"by {NAMES[found['formula']]}"
    each = ", ".join(f"{name} {area_text(area, display)}" for name, area in found["areas_m2"].items())
    if not found["met"]:
        octaves = " and ".join(f"{hz} Hz" for hz in found["above_hz"])
        over = f", at {octaves}" if octaves else ""
        return f"target {by}: missed{over} even with {area_text(found['total_m2'], display)} ({each})"
    if not each:
        return f"target {by}: met without panels"
    return f"target {by}: met from {area_text(found['total_m2'], display)} on ({each})"


def _reflection(one: dict[str, Any]) -> str:
    """Return one reflection that reaches the listener, in words."""
    on = f", on frame {one['frame']}" if one["frame"] else ""
    strong = ", stands out" if one["strong"] else ""
    return (f"{one['loudspeaker']} off {one['surface']}: {one['delay_ms']:.1f} ms, "
            f"{one['level_db']:.1f} dB, after {one['level_after_db']:.1f} dB{on}{strong}")  # fmt: skip


VERBS: Verbs = {"room": (room_verb, _show)}
