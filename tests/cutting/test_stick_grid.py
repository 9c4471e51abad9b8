"""Weights on a coarse grid: pieces share a stick by them just where they do by lengths and kerf."""

from collections import Counter
from itertools import combinations_with_replacement

from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.core.units import INCH, MM
from estimator.cutting.sticks.case import shortened


@settings(max_examples=150, deadline=None)
@given(
    st.lists(st.integers(3, 30), min_size=1, max_size=4, unique=True),
    st.integers(1, 5),
    st.integers(0, 40),
    st.lists(st.integers(20, 900), min_size=1, max_size=2),
)
def test_pieces_fit_by_weight_just_where_they_fit_in_truth(
    sizes: list[int], wanted: int, kerf: int, rooms: list[int]
) -> None:
    lengths = [10 * size for size in sorted(sizes, reverse=True)]
    weights, capacities = shortened(lengths, [wanted] * len(lengths), kerf, rooms)
    weight = dict(zip(lengths, weights, strict=True))
    for count in range(1, 8):
        for pieces in combinations_with_replacement(lengths, count):
            if max(Counter(pieces).values()) <= wanted:
                for room, capacity in zip(rooms, capacities, strict=True):
                    fits = sum(pieces) + kerf * (count - 1) <= room
                    assert (sum(weight[piece] for piece in pieces) <= capacity) == fits


def test_an_inch_kerf_between_millimetres_needs_no_long_tables() -> None:
    lengths = [at * MM for at in (2000, 1201, 707, 431)]
    _, capacities = shortened(lengths, [5] * 4, INCH // 8, [96 * INCH])
    # By the common unit, 1/40 mm, it would be (2438.4 + 3.175) x 40 = 97 663.
    assert capacities[0] < 97_663 / 3
