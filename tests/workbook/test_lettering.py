"""Widths of text against printed metrics, and lines that wrap."""

import pytest

from estimator.workbook.desk import line_count, row_points, text_points

HELVETICA = {" ": 278, "A": 667, "M": 833, "W": 944, "a": 556, "f": 278, "i": 222, "m": 833, "r": 333,
             "s": 500, "t": 278, "w": 722, "0": 556, "%": 889, "(": 333, "-": 333, ".": 278, "/": 278,
             "&": 667, "×": 584}  # fmt: skip
"""Advance widths in 1/1000 em. Source: Adobe Core 14 font metrics, Helvetica.afm; from memory."""


@pytest.mark.parametrize(("letter", "width"), HELVETICA.items())
def test_letters_are_as_wide_as_printed_and_never_narrower(letter: str, width: int) -> None:
    assert width / 1000 <= text_points(letter, 1.0) <= width / 1000 + 0.011


def test_bold_and_unknown_letters_are_wider() -> None:
    assert text_points("mm", 10.0, bold=True) > text_points("mm", 10.0)
    assert text_points("木", 1.0) > 1


@pytest.mark.parametrize(
    ("text", "room", "lines"),
    [
        ("0000 0000", 100.0, 1),
        ("0000 0000", 45.0, 2),
        ("0000\n0000", 100.0, 2),
        ("0" * 20, 56.0, 2),
        ("", 9.0, 1),
    ],
)
def test_lines_wrap_at_words_and_long_words_break(text: str, room: float, lines: int) -> None:
    assert line_count(text, 10.0, room) == lines


def test_rows_grow_by_a_line() -> None:
    assert row_points(2, 10.0) - row_points(1, 10.0) == pytest.approx(12.0)
