"""Characters that cannot be seen, and what of a file a refusal shows."""

import pytest

from estimator.core.characters import escaped, hidden, named
from estimator.core.errors import BattenbookError, InputError, Problem

UNSEEN = (
    0x00, 0x07, 0x1B, 0x7F, 0x85, 0x9B, 0xAD, 0x200B, 0x200D, 0x200E, 0x2028, 0x2029, 0x202A, 0x202E, 0x2066,
    0x2069, 0xFEFF, 0xD800, 0xDFFF, 0xE0041,
)  # fmt: skip
"""Unicode general categories Cc, Cf, Cs, Zl and Zp, some of each."""


@pytest.mark.parametrize("code", UNSEEN, ids=hex)
def test_what_cannot_be_seen_is_found_and_shown_by_its_number(code: int) -> None:
    character = chr(code)
    assert hidden(f"a{character}b") == [character]
    assert named([character]) == f"holds U+{code:04X}, which cannot be seen"
    assert escaped(f"a{character}b").isprintable()


@pytest.mark.parametrize(
    "text", ["Fauteuil 12\u00a0%", "Zoë's ½ in frame · 2×2", "日本語", "שלום", "e\u0301", "🙂"]
)
def test_what_can_be_seen_is_left_alone(text: str) -> None:
    assert hidden(text) == []
    assert escaped(text) == text


def test_a_refusal_shows_200_characters_of_what_was_read_and_none_that_steers_a_terminal() -> None:
    problem = Problem("a\x1b[2J", f"{'x' * 100_000!r} is no price\u202e", "Known: \x9b31m.")
    assert len(problem.what) == 200
    assert problem.what.endswith("…")
    assert str(problem).isprintable()
    assert problem.where == r"a\x1b[2J"


def test_a_refusal_of_very_many_problems_names_500_and_counts_the_rest() -> None:
    error = InputError(Problem(f"row {n}", "is wrong", "") for n in range(100_000))
    assert len(error.problems) == 501
    assert "99,500 problems are not shown" in error.problems[-1].what
    assert isinstance(error, BattenbookError)
