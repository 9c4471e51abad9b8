"""Problems say where, what and how to mend it."""

from estimator.core.errors import InputError, Problem
from estimator.core.sources import PRACTICE, Source


def test_a_problem_reads_like_a_compilers_message() -> None:
    problem = Problem("wall[1].height", "84 has no unit", "Write 84 in.", "job.toml", 12)
    assert str(problem) == "job.toml:12: wall[1].height: 84 has no unit. Write 84 in."
    assert str(Problem("--kerf", "missing", "")) == "--kerf: missing."


def test_an_error_carries_all_its_problems_and_its_exit_code() -> None:
    error = InputError([Problem("a", "b", ""), Problem("c", "d", "")])
    assert error.exit_code == 3
    assert str(error).splitlines() == ["a: b.", "c: d."]


def test_a_recalled_source_says_so() -> None:
    assert str(Source("ISO 354")) == "ISO 354 (from memory)"
    assert str(Source("ISO 354", "read")) == "ISO 354"
    assert str(Source()) == PRACTICE
