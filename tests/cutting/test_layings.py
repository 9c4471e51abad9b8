"""Layings: each fills its cavity, none has a sliver, and the first is the one of the fewest pieces."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.core.units import INCH
from estimator.cutting.boards.layings import Board, Layings, flipped, sizes_of

BOARD = Board(24 * INCH, 48 * INCH, 0, 4 * INCH)
sides = st.integers(INCH, 130 * INCH)


@settings(max_examples=60, deadline=None)
@given(sides, sides, st.lists(st.integers(4 * INCH, 30 * INCH), max_size=3))
def test_every_laying_fills_its_cavity_with_pieces_that_a_board_gives(
    width: int, height: int, partners: list[int]
) -> None:
    layings = Layings(BOARD).using(tuple(partners)).of(width, height)
    assert layings
    assert [len(laying) for laying in layings] == sorted(len(laying) for laying in layings)
    for laying in layings:
        assert sum(s.width * s.height for s in laying) == width * height
        assert all(s.x + s.width <= width and s.y + s.height <= height for s in laying)
        for short, long in sizes_of(laying):
            assert short <= BOARD.width
            assert long <= BOARD.length
            assert short >= min(BOARD.least, width, height)


@settings(max_examples=40, deadline=None)
@given(sides, sides)
def test_the_first_takes_no_more_pieces_than_a_grid(width: int, height: int) -> None:
    # A grid of equal pieces, boards upright or turned, is the least that a joiner would do without thinking.
    upright = -(-width // BOARD.width) * -(-height // BOARD.length)
    turned = -(-width // BOARD.length) * -(-height // BOARD.width)
    # Where the last strip of a grid would be a sliver, pieces before it are cut shorter: the number stays.
    assert len(Layings(BOARD).of(width, height)[0]) <= min(upright, turned)


@pytest.mark.parametrize(
    ("across", "up", "corner"), [(True, False, (9, 0)), (False, True, (0, 12)), (True, True, (9, 12))]
)
def test_a_mirror_changes_sides(across: bool, up: bool, corner: tuple[int, int]) -> None:  # noqa: FBT001
    # 33 x 60 in: the piece 24 x 48 in the lower-left corner goes over, to 33 - 24 = 9 or to 60 - 48 = 12.
    for laying in Layings(BOARD).of(33 * INCH, 60 * INCH):
        turned = flipped(laying, 33 * INCH, 60 * INCH, across=across, up=up)
        assert sizes_of(turned) == sizes_of(laying)
        if (0, 0, 24 * INCH, 48 * INCH) in laying:
            assert (corner[0] * INCH, corner[1] * INCH, 24 * INCH, 48 * INCH) in turned


def test_a_cavity_as_large_as_a_hall_takes_whole_boards_but_at_its_edges() -> None:
    # 1000 in are 41 boards of 24 and 16 over, or 20 of 48 and 40 over.
    laying = Layings(BOARD).of(1000 * INCH, 1000 * INCH)[0]
    assert sum(spot.width * spot.height for spot in laying) == 1_000_000 * INCH**2
    assert sum(min(spot[2:]) == 24 * INCH and max(spot[2:]) == 48 * INCH for spot in laying) >= 41 * 20
