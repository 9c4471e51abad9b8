"""Halves go away from zero, packs are whole, and shares add up."""

from decimal import Decimal as D

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.core.money import packs, rounded, split


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
