"""Cuttings of a band: that they tile it, and which one is chosen, criterion by criterion."""

from collections.abc import Iterable
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.core.units import FOOT, INCH, Nm
from estimator.layout.cuttings import (
    FrameLimits,
    choose,
    columns_of,
    joint_length,
    partitions,
    parts,
    reason,
    split,
)
from estimator.layout.shapes import Rect

EASY = FrameLimits(
    narrowest=6 * INCH, widest=96 * INCH, tallest=120 * INCH, heaviest_kg=1e9, longest_rail=144 * INCH,
    buildable=4 * INCH, step=INCH // 16, mass_kg=lambda _width, _height: 0.0,
)  # fmt: skip


def rect(left: float, bottom: float, right: float, top: float) -> Rect:
    return Rect(*(round(x * INCH) for x in (left, bottom, right, top)))


def shown(pieces: tuple[Rect, ...]) -> list[tuple[float, ...]]:
    return [tuple(x / INCH for x in (p.left, p.bottom, p.right, p.top)) for p in pieces]


def test_a_heater_under_a_window_needs_no_joint_from_a_covered_corner() -> None:
    """Heater 30..70 kept clear up to 35, window 40..60 from 30 to 60: a stepped hole, five pieces."""
    cuts = list(partitions(rect(0, 0, 100, 90), [rect(30, 0, 70, 35), rect(40, 30, 60, 60)]))
    assert min(len(cut) for cut in cuts) == 5


def test_one_window_can_be_cut_four_ways() -> None:
    band, window = rect(0, 0, 100, 90), rect(40, 30, 60, 60)
    assert {len(cut) for cut in partitions(band, [window])} == {4}
    assert len(list(partitions(band, [window]))) == 4


def test_a_door_can_be_cut_two_ways() -> None:
    assert len(list(partitions(rect(0, 0, 100, 90), [rect(40, 0, 60, 80)]))) == 2


def test_no_narrow_piece_goes_before_joint_length() -> None:
    """A window 4 in from the wall: panels that run through leave a pier of 4 x 30 in, the least there is."""
    band, window = rect(0, 0, 90, 90), rect(4, 30, 40, 60)
    best = choose(band, [window], EASY)
    assert best.score.narrow == 1
    assert min(p.height for p in best.pieces if p.width == 4 * INCH) == 30 * INCH


def test_least_joint_length() -> None:
    """Piers 20 wide, panels 10 high: panels between piers make 4 x 10 in of joints, through them 4 x 20."""
    best = choose(rect(0, 0, 90, 90), [rect(20, 10, 70, 80)], EASY)
    assert best.score.joint == 40 * INCH
    assert (20, 0, 70, 10) in shown(best.pieces)


def test_symmetry_decides_between_equal_joints() -> None:
    """Door 60..72 of 84, 60 high, 36 over it: upright joints 2 x 36 in, a level one 60 + 12: both 72.

    The panel over the whole width is its own mirror image, so that only the two piers have no counterpart.
    """
    best = choose(rect(0, 0, 84, 96), [rect(60, 0, 72, 60)], EASY)
    assert joint_length(best.pieces) == 72 * INCH
    assert best.score.lopsided == 2
    assert (0, 60, 84, 96) in shown(best.pieces)


def test_wide_bands_are_cut_in_equal_columns() -> None:
    """200 in at most 96 wide: 3 columns of 66 2/3, in sixteenths 66 11/16, 66 10/16, 66 11/16."""
    best = choose(rect(0, 0, 200, 90), [], EASY)
    assert [p.width / INCH for p in best.pieces] == [66.6875, 66.625, 66.6875]
    assert best.score.lopsided == 0


def test_heavy_pieces_are_cut_until_two_people_lift_them() -> None:
    limit = FrameLimits(
        6 * INCH, 96 * INCH, 120 * INCH, 20.0, 144 * INCH, 4 * INCH, INCH // 16,
        mass_kg=lambda width, _height: width / INCH / 2,
    )  # fmt: skip
    assert [p.width / INCH for p in split(rect(0, 0, 90, 90), limit)] == [30, 30, 30]


ROLL = replace(EASY, seam_reach=lambda width, _height: 60 * INCH if width > 60 * INCH else None)
"""Cloth that covers 60 in."""


@pytest.mark.parametrize(
    ("wide", "widths", "lines"),
    [
        (60, [60], 0),
        (72, [72], 1),  # one seam, or one joint of two frames: the same, so one frame
        (124, [41.3125, 41.375, 41.3125], 2),  # two frames of 62 have a joint and two seams
        (180, [60, 60, 60], 2),  # two of 90 have three lines
        (150, [50, 50, 50], 2),  # two of 75 likewise
    ],
)
def test_frames_are_made_to_the_width_of_the_cloth_where_fewer_lines_are_seen(
    wide: float, widths: list[float], lines: int
) -> None:
    best = choose(rect(0, 0, wide, 90), [], ROLL)
    assert [p.width / INCH for p in best.pieces] == widths
    assert best.score.joint == lines * 90 * INCH


def test_cloth_makes_no_frame_narrower_than_the_shop_likes() -> None:
    best = choose(rect(0, 0, 124, 90), [], replace(ROLL, narrowest=45 * INCH))
    assert [p.width / INCH for p in best.pieces] == [62, 62]


def test_own_columns_stack_round_openings() -> None:
    band, window = rect(0, 0, 100, 90), rect(40, 30, 60, 60)
    found = columns_of(band, [window], [40 * INCH, 20 * INCH, 40 * INCH])
    assert not isinstance(found, int)
    assert shown(found) == [(0, 0, 40, 90), (40, 0, 60, 30), (40, 60, 60, 90), (60, 0, 100, 90)]
    assert columns_of(band, [window], [50 * INCH, 50 * INCH]) == 1


def test_the_reason_is_said_in_words() -> None:
    """Piers 20 wide, panels 10 high: 4 x 10 in of joints; with one panel run through 2 x 10 + 2 x 20 = 60."""
    said = reason("N", choose(rect(0, 0, 90, 90), [rect(20, 10, 70, 80)], EASY), "imperial")
    assert said == (
        "N: best of 4 cuttings: 4 frames, none narrower than the shop's least, none too large or heavy for "
        "two people, none with a spliced rail, 3'4\" of joints and seams, symmetrical; decided by least "
        "joints and seams (the next best has 5'0\")."
    )


SIZES = st.integers(1, 12)


@st.composite
def bands(draw: st.DrawFn, *, apart: bool = True) -> tuple[Rect, list[Rect]]:
    """A band with up to four openings, in whole feet; some at the band's border, some over each other."""
    band = Rect(0, 0, draw(st.integers(8, 30)) * FOOT, 8 * FOOT)
    holes: list[Rect] = []
    for _ in range(draw(st.integers(0, 4))):
        left, bottom = draw(st.integers(0, 28)) * FOOT, draw(st.integers(0, 7)) * FOOT
        hole = Rect(left, bottom, left + draw(SIZES) * FOOT, bottom + draw(SIZES) * FOOT).common(band)
        if hole.area and not (apart and any(hole.grown(*[FOOT // 2] * 4).overlaps(h) for h in holes)):
            holes.append(hole)
    return band, holes


def feet(rects: Iterable[Rect]) -> set[tuple[int, int]]:
    """Return the squares of a foot that rectangles cover."""
    return {
        (x, z)
        for r in rects
        for x in range(r.left // FOOT, r.right // FOOT)
        for z in range(r.bottom // FOOT, r.top // FOOT)
    }


@given(bands(apart=False))
def test_every_cutting_tiles_the_band_less_its_openings(drawn: tuple[Rect, list[Rect]]) -> None:
    band, holes = drawn
    free = feet([band]) - feet(holes)
    for cut in partitions(band, holes):
        assert feet(cut) == free
        assert sum(p.area for p in cut) == len(free) * FOOT**2


@given(bands())
def test_the_order_of_openings_is_irrelevant(drawn: tuple[Rect, list[Rect]]) -> None:
    band, holes = drawn
    assert choose(band, holes, EASY) == choose(band, holes[::-1], EASY)


@given(bands())
def test_a_mirrored_band_is_cut_into_the_same_sizes(drawn: tuple[Rect, list[Rect]]) -> None:
    band, holes = drawn
    about = band.left + band.right
    one, other = choose(band, holes, EASY), choose(band, [h.mirrored(about) for h in holes], EASY)
    assert one.score == other.score
    assert sorted((p.width, p.height) for p in one.pieces) == sorted(
        (p.width, p.height) for p in other.pieces
    )


@given(st.integers(INCH, 300 * INCH), st.integers(1, 9))
def test_parts_add_up_and_read_the_same_from_either_end(length: Nm, count: int) -> None:
    sizes = parts(length, count, INCH // 16)
    assert sum(sizes) == length
    assert all(abs(a - b) <= 1 for a, b in zip(sizes, reversed(sizes), strict=True))


def test_joint_length_counts_each_joint_once() -> None:
    assert joint_length([rect(0, 0, 10, 20), rect(10, 0, 20, 20), rect(0, 20, 20, 30)]) == (20 + 20) * INCH
