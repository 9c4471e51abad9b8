"""A later stage's problem finds its line: what is expected is looked up in the example by hand."""

from pathlib import Path

import pytest

from estimator.core.errors import Problem
from estimator.job.document import key_path, located, read_document

CHAPEL = Path(__file__).parents[2] / "examples" / "chapel_annex" / "job.toml"


@pytest.mark.parametrize(
    ("where", "text"),
    [
        ("N", 'name = "N"'),  # a treatment
        ("N12", 'name = "N"'),  # one of its frames
        ("W2", 'name = "W2"'),  # an opening
        ("D1", 'name = "D1"'),  # an opening of the plan
        ("duct", 'name = "duct"'),
        ("chamfer", 'name = "chamfer"'),
        ("K1", 'name = "K"'),
        ("casing-half-4", 'casing = "casing-half-4"'),
        ("make-up.deep.gap", 'gap = "1/2 in"'),
        ("wall[0].opening[1].bottom", 'bottom = "44 in"'),
        ("room.wall[1].length", 'length = "5 ft 7 7/8 in"'),
        ("room.height", 'height = "9 ft 6 in"'),
    ],
)
def test_the_line_of_what_a_problem_names(where: str, text: str) -> None:
    document = read_document(CHAPEL, "job.toml")
    (problem,) = located([Problem(where, "what", "fix")], document)
    rows = CHAPEL.read_text(encoding="utf-8").splitlines()
    assert problem.file == "job.toml"
    assert text in (rows[problem.line - 1], rows[problem.line])  # the table's head, or the key itself


def test_a_key_that_is_not_in_the_file_stands_at_its_table() -> None:
    document = read_document(CHAPEL, "job.toml")
    (problem,) = located([Problem("room.target", "", "")], document)
    assert CHAPEL.read_text(encoding="utf-8").splitlines()[problem.line - 1] == "[room]"


@pytest.mark.parametrize(
    "problem",
    [
        Problem("N", "what", "fix", file="prices.csv", line=7),
        Problem("reverberation", "what", "fix"),
        Problem("?!", "what", "fix"),
        Problem("", "what", "fix"),
    ],
)
def test_a_problem_of_another_file_or_of_none_is_left_alone(problem: Problem) -> None:
    assert located([problem], read_document(CHAPEL)) == (problem,)


def test_key_paths() -> None:
    assert key_path("wall[1].opening[0].width") == ("wall", 1, "opening", 0, "width")
    assert key_path("make-up.standard") == ("make-up", "standard")
    assert key_path("labour task cut") == ()
