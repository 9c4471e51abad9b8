"""Lengths are exact, and read as a tape is read."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.core.units import FOOT, INCH, MM, format_length, inches, metres, parse_length


@pytest.mark.parametrize(
    ("text", "nanometres"),
    [
        ("60 in", 60 * INCH),
        ("5 ft 2 1/2 in", 62 * INCH + INCH // 2),
        ("5'2-1/2\"", 62 * INCH + INCH // 2),
        ('10 1/2"', 10 * INCH + INCH // 2),
        ("1473 mm", 1473 * MM),
        ("1.473 m", 1473 * MM),
        ("1/64 in", 396_875),
        (".5 in", INCH // 2),
        ("2 yd", 6 * FOOT),
        ("5′ 2″", 62 * INCH),
    ],
)
def test_lengths_are_whole_nanometres(text: str, nanometres: int) -> None:
    assert parse_length(text) == nanometres


@pytest.mark.parametrize(
    ("text", "complaint"),
    [
        ("60", "which unit"),
        (60, "which unit"),
        (60.5, "which unit"),
        ("", "empty"),
        ("in", "not a length"),
        ("5 in 2 ft", "larger first"),
        ("5 furlongs", "unknown unit"),
        ("-5 in", "negative"),
        ("1/0 in", "divides by zero"),
        ("2000000 mm", "kilometre"),
        ("1 in" * 40, "too long"),
        (None, "which unit"),
    ],
)
def test_what_is_no_length_is_refused(text: object, complaint: str) -> None:
    with pytest.raises(ValueError, match=complaint):
        parse_length(text)


@pytest.mark.parametrize(
    ("length", "imperial", "metric"),
    [
        (62 * INCH + INCH // 2, "5'2-1/2\"", "1588 mm"),
        (INCH // 32, '1/16"', "1 mm"),
        (INCH // 33, '0"', "1 mm"),
        (12 * INCH - INCH // 64, "1'0\"", "304 mm"),
        (10 * INCH + INCH // 2, '10-1/2"', "267 mm"),
        (72 * INCH + INCH // 2, "6'0-1/2\"", "1842 mm"),
        (-INCH, '-1"', "-25 mm"),
    ],
)
def test_lengths_print_to_a_sixteenth_or_a_millimetre(length: int, imperial: str, metric: str) -> None:
    assert format_length(length) == imperial
    assert format_length(length, "metric") == metric


@given(st.integers(0, 1000 * 16))
def test_a_printed_imperial_length_reads_back_the_same(sixteenths: int) -> None:
    length = sixteenths * (INCH // 16)
    assert parse_length(format_length(length)) == length


@given(st.integers(0, 100_000))
def test_a_printed_metric_length_reads_back_the_same(millimetres: int) -> None:
    length = millimetres * MM
    assert parse_length(format_length(length, "metric")) == length


def test_conversions_are_exact_on_a_tape() -> None:
    assert inches(parse_length("61 3/64 in")) == 61 + 3 / 64
    assert metres(parse_length("2413 mm")) == 2.413
