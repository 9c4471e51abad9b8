"""What the job file can say, checked on the example jobs and on small changes to one of them."""

import tomllib
from pathlib import Path
from typing import Any

import pytest
from pydantic import ValidationError

from estimator.core.units import FOOT, INCH
from estimator.job.description import job_file
from estimator.job.description_pieces import Cloud, Corner, Recess, Screen
from estimator.job.load import load_job

EXAMPLES = Path(__file__).parents[2] / "examples"
JOBS = sorted(path.parent.name for path in EXAMPLES.glob("*/job.toml"))


def _one_panel() -> dict[str, Any]:
    return tomllib.loads((EXAMPLES / "one_panel" / "job.toml").read_text(encoding="utf-8"))


def test_there_are_example_jobs() -> None:
    assert {"one_panel", "rehearsal_room", "chapel_annex", "voice_booth"} <= set(JOBS)


@pytest.mark.parametrize("name", JOBS)
def test_every_example_loads_without_a_warning(name: str) -> None:
    _, problems = load_job(EXAMPLES / name / "job.toml")
    assert problems == ()


def test_a_job_is_frozen_and_its_lengths_are_nanometres() -> None:
    job = job_file().model_validate(_one_panel())
    assert job.walls[0].start == 29 * INCH + INCH // 2
    assert job.room.height == 8 * FOOT
    with pytest.raises(ValidationError, match="frozen"):
        setattr(job.room, "height", 0)  # noqa: B010 - what the type checker would forbid


def test_the_awkward_room_says_all_there_is_to_say() -> None:
    job, _ = load_job(EXAMPLES / "chapel_annex" / "job.toml")
    assert [wall.turn for wall in job.room.walls].count(45) == 2
    assert job.room.drops
    assert {o.bottom for o in job.walls[0].openings if o.kind == "window"} == {30 * INCH, 44 * INCH}
    assert [len(job.of(way)) for way in (Corner, Recess, Screen, Cloud)] == [1, 1, 1, 2]
    assert [option.name for option in job.options] == ["thicker", "plain"]
    assert job.piece_names() == ("N", "C", "E", "T", "R", "S", "K", "L")


def test_openings_are_found_on_their_wall_wherever_they_are_listed() -> None:
    job, _ = load_job(EXAMPLES / "chapel_annex" / "job.toml")
    assert [o.name for o in job.openings_on("north")] == ["W1", "W2", "O1"]
    assert [o.name for o in job.openings_on("west")] == ["W3"]
    assert [o.kept for o in job.openings_on("north")] == ["clear", "clear", "reachable"]


@pytest.mark.parametrize(
    ("table", "key", "value"),
    [
        ("job", "date", "2026-03-02"),
        ("job", "number", 5),
        ("job", "number", "../../etc/passwd"),
        ("job", "title", "two\nlines"),
        ("job", "currency", "dollars"),
        ("room", "target_s", float("nan")),
        ("room", "target_s", "0.4"),
        ("room", "height", 96),
        ("room", "built", True),
        ("room", "walls", []),
    ],
)
def test_no_value_is_converted_in_silence(table: str, key: str, value: object) -> None:
    data = _one_panel()
    data[table][key] = value
    with pytest.raises(ValidationError) as caught:
        job_file().model_validate(data)
    assert [error["loc"][:2] for error in caught.value.errors()] == [(table, key)]
