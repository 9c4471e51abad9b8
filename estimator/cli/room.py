"""The verb `room`: what the treatment of a job does for its room, estimated."""

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

import typer

from estimator.cli.estimate import Debug, Job, Json
from estimator.cli.output import run, say

if TYPE_CHECKING:
    from estimator.core.errors import Problem


def register(app: typer.Typer) -> None:
    """Add the verb to the program."""
    app.command("room")(room_verb)


def room_verb(job: Job, as_json: Json = False, debug: Debug = False) -> None:
    """Estimate what the treatment does for the room: reverberation, reflections, target."""

    def work() -> "tuple[Iterable[Problem], dict[str, Any]]":
        from estimator.acoustics.report import plain
        from estimator.acoustics.survey import report_of
        from estimator.catalogue.load import load
        from estimator.cli.location import at_lines
        from estimator.layout.assembly import lay_out

        described, catalogue, warnings = load(job)
        with at_lines(job) as place:
            layout = lay_out(described, catalogue)
            report = report_of(described, layout, catalogue, seek=True)
        return (*warnings, *place(report.problems)), plain(report)

    run(work, _show, as_json=as_json, debug=debug)


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
    for found in result["smallest"]:
        walls = ", ".join(f"{name} {area:.1f}" for name, area in found["areas_m2"].items())
        word = "meets the target" if found["met"] else "does not meet the target even so"
        say(f"least area by {found['formula']}: {found['total_m2']:.1f} m2 ({walls}) {word}")
    for one in result["reflections"]:
        on = f", on frame {one['frame']}" if one["frame"] else ""
        say(f"{one['loudspeaker']} off {one['surface']}: {one['delay_ms']:.1f} ms, "
            f"{one['level_db']:.1f} dB, after {one['level_after_db']:.1f} dB{on}")  # fmt: skip
