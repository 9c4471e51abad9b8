"""A job that no shop builds in one go is refused before minutes are spent; a large one says how long."""

import re
from pathlib import Path

import pytest
from typer.testing import CliRunner

from estimator.cli.app import gather
from estimator.core.errors import InputError
from estimator.job.load import load_job
from estimator.layout.extent import MOST_FRAMES, seconds

EXAMPLE = Path("examples/one_panel/job.toml").read_text(encoding="utf-8")
SCREEN = """
[[screen]]
name = "S{n}"
width = "4 ft"
height = "5 ft 6 in"
make-up = "standard"
count = {count}
feet = "foot-ballast-32"
"""
OPTION = '\n[[option]]\nname = "O{n}"\ntitle = "Another paint"\nfinish = {{ standard = "paint-trim" }}\n'


def checked(folder: Path, text: str) -> str:
    """Return what `check` says of a job; its errors where it refuses."""
    (folder / "job.toml").write_text(text, encoding="utf-8")
    got = CliRunner().invoke(gather(), ["check", str(folder / "job.toml")])
    assert got.exit_code in {0, 3}, got.output
    return got.stdout if got.exit_code == 0 else got.stderr


def long_wall(metres: int, height: str = "85 in") -> str:
    text = re.sub(r'(name = "(?:north|south)"\nlength = )"10 ft"', rf'\1"{metres} m"', EXAMPLE)
    text = text.replace('to = "90 1/2 in"', f'to = "{metres - 1} m"')
    return text.replace('height = "85 in" }', f'height = "{height}" }}')


def screens(*counts: int) -> str:
    return EXAMPLE + "".join(SCREEN.format(n=n, count=count) for n, count in enumerate(counts))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (long_wall(999), "m² of wall; at most 1,000 m²"),
        (long_wall(999, "20 in"), "treats 997 m of wall; at most 500 m"),
        (screens(*[200] * 200), "has at least 40,000 frames; at most 240"),
        (screens(200, 40), "has at least 241 frames; at most 240"),
        (
            screens(50) + "".join(OPTION.format(n=n) for n in range(20)),
            "has at least 1,050 frames with its 20 options",
        ),
    ],
    ids=["999 m", "999 m of low wall", "200 screens of 200", "one frame too many", "options"],
)
def test_what_is_too_large_is_refused_with_the_limit(tmp_path: Path, text: str, said: str) -> None:
    assert said in checked(tmp_path, text)


def test_the_most_that_is_laid_out_is_and_check_says_how_long_it_takes(tmp_path: Path) -> None:
    said = checked(tmp_path, screens(200, MOST_FRAMES - 201))
    assert f"({MOST_FRAMES} frames)" in said
    assert f"To estimate it takes about {seconds(MOST_FRAMES, 0):.0f} s." in said


def test_a_small_job_says_nothing_of_time(tmp_path: Path) -> None:
    assert "takes about" not in checked(tmp_path, EXAMPLE)


def test_more_pieces_than_a_file_may_list_are_refused_when_it_is_read(tmp_path: Path) -> None:
    (tmp_path / "job.toml").write_text(screens(201), encoding="utf-8")
    with pytest.raises(InputError, match="Write 200 or less"):
        load_job(tmp_path / "job.toml")
