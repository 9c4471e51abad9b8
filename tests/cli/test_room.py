"""What `room` says to a person: times, the target in the job's units, and the reflections that are heard."""

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from estimator.cli.app import gather

JOB = """
schema = 1
job = { number = "1", title = "t", client = "c", date = 2026-03-02, currency = "CAD" }
[room]
name = "Room"
use = "control"
height = "8 ft"
target_s = TARGET
listening = { x = "6 ft", y = "7 ft", z = "48 in" }
loudspeakers = [{ name = "left", x = "3 ft", y = "3 ft", z = "48 in" }]
wall = [
    { name = "front", length = "12 ft", turn = 45 },
    { name = "chamfer", length = "33.941 in", turn = 45 },
    { name = "right", length = "12 ft" },
    { name = "back", length = "14 ft" },
    { name = "left", length = "14 ft" },
]
[make-up.std]
member = "member-2x2"
board = "board-48-1.5"
fabric = "fabric-plain"
[[wall]]
name = "F"
on = "front"
make-up = "std"
band = { bottom = "12 in", height = "72 in" }
"""


def room(folder: Path, target_s: str, *more: str) -> Result:
    path = folder / "job.toml"
    path.write_text(JOB.replace("TARGET", target_s), encoding="utf-8")
    result = CliRunner().invoke(gather(), ["room", str(path), *more])
    assert result.exit_code == 0, result.output
    return result


def test_only_reflections_that_reach_the_listener_are_told(tmp_path: Path) -> None:
    """From 3 ft along the front, the chamfer's line is met behind the front wall: no reflection off it."""
    found = json.loads(room(tmp_path, "0.3", "--json").stdout)["result"]["reflections"]
    unseen = {r["surface"] for r in found if not r["visible"]}
    assert unseen == {"chamfer"}
    told = room(tmp_path, "0.3").stdout
    assert "left off front: " in told
    assert ", on frame F1" in told
    assert "off chamfer" not in told


@pytest.mark.parametrize(
    ("target", "said"),
    [("6", "target by Sabine: met without panels"), ("0.05", "target by Sabine: missed even with ")],
)
def test_the_target_in_words(tmp_path: Path, target: str, said: str) -> None:
    told = room(tmp_path, target).stdout
    assert said in told
    assert "sq ft" in told
    assert " m2" not in told
