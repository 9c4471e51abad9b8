"""Halves go away from zero, packs are whole, and shares add up."""

from decimal import Decimal as D

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.core.money import as_typed, decimal, packs, rounded, split


@pytest.mark.parametrize(
    ("value", "cents"),
    [(1.005, "1.01"), (2.675, "2.68"), (0.125, "0.13"), (-0.125, "-0.13"), (1.004999, "1.00")],
)
def test_half_a_cent_goes_away_from_zero(value: float, cents: str) -> None:
    # binary floats alone give 1.00, 2.67 and 0.12 (own arithmetic)
    assert rounded(value) == D(cents)


@pytest.mark.parametrize(
    ("need", "content", "count"), [(0, 5, 0), (5, 5, 1), (5.0000001, 5, 1), (5.001, 5, 2), (0.1 * 3, 0.1, 3)]
)
def test_packs_are_proof_against_the_last_bit(need: float, content: float, count: int) -> None:
    assert packs(need, content) == count


def test_the_odd_cent_goes_to_the_largest_remainder() -> None:
    # Hamilton's method (own arithmetic)
    assert split(D(100), [1, 1, 1]) == [D("33.34"), D("33.33"), D("33.33")]
    assert split(D(1000), [1, 2, 4]) == [D("142.86"), D("285.71"), D("571.43")]


@given(st.decimals(0, 100000, places=2), st.lists(st.integers(0, 50), min_size=1, max_size=9))
def test_shares_always_add_up(total: D, weights: list[int]) -> None:
    if not sum(weights):
        with pytest.raises(ValueError, match="weights"):
            split(total, weights)
        return
    assert sum(split(total, weights)) == total


@pytest.mark.parametrize(
    ("written", "typed"),
    [
        ("5.1", "5.1"),
        ("5.0999999999999996", "5.1"),
        ("5.09999999999999999991", "5.1"),
        ("2.67499999999999999996", "2.675"),
        ("1E-3", "0.001"),
        ("1E-007", "1E-7"),
        ("1e-7", "1E-7"),
        ("+12.50", "12.5"),
        (" 80 \n", "80"),
        ("-0.5", "-0.5"),
        ("1E+22", "1E+22"),
    ],
)
def test_a_number_is_read_as_it_was_typed(written: str, typed: str) -> None:
    """Forms that openpyxl, XlsxWriter, LibreOffice (1E-007) and gnumeric (21 digits) were seen to write."""
    assert str(as_typed(written)) == typed


@pytest.mark.parametrize(
    "text", ["", "one", "NaN", "inf", "1_000", "1e", "٣", "１", "0x10", "1E999", "1.2.3", "7" * 61, "1,5"]
)
def test_what_is_no_number_in_ascii_digits_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="is no number"):
        as_typed(text)


def test_fifteen_digits_leave_no_zeros_behind() -> None:
    """The plan refuses a price of more digits than money has."""
    assert str(decimal(D("5.0999999999999996"))) == "5.1"
