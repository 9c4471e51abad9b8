"""Members and cavities of one frame, by hand."""

import itertools

from hypothesis import given
from hypothesis import strategies as st

from estimator.core.units import INCH, Nm
from estimator.layout.members import (
    Fill,
    FrameStock,
    bays,
    build,
    cavities,
    even_studs,
    regular_studs,
    splice_points,
    stud_centres,
)

TWO_BY_TWO = FrameStock("2x2", 3 * INCH // 2, 3 * INCH // 2, 24 * INCH, 144 * INCH)
FILL = Fill("board", 1, 0)


def inches(*lengths: Nm) -> list[float]:
    return [length / INCH for length in lengths]


def test_bays() -> None:
    """ceil((w - 1.5) / 24): 25.5 -> 1, a hair more -> 2; 60 -> 58.5 / 24 = 2.44 -> 3; 10 -> 1."""
    assert [bays(round(w * INCH), 3 * INCH // 2, 24 * INCH) for w in (10, 25.5, 25.5625, 49.5, 60)] == [
        1,
        1,
        2,
        2,
        3,
    ]


def test_regular_studs_are_even() -> None:
    """58.5 / 3 = 19.5: centres 0.75 + 19.5 and 0.75 + 39."""
    assert inches(*regular_studs(60 * INCH, 3 * INCH // 2, 24 * INCH)) == [20.25, 39.75]


def test_members_of_a_60_by_84_frame() -> None:
    """Rails 60, stiles and studs 84 - 3 = 81."""
    members = build("A", 60 * INCH, 84 * INCH, TWO_BY_TWO, regular_studs(60 * INCH, 3 * INCH // 2, 24 * INCH))
    assert [(m.role, m.length / INCH) for m in members] == [
        ("rail", 60), ("rail", 60), ("stile", 81), ("stile", 81), ("stud", 81), ("stud", 81),
    ]  # fmt: skip


def test_a_rail_longer_than_a_stick_is_spliced_over_a_stud() -> None:
    """200 in of 144 in sticks; 9 bays of 22.0556: the last in reach is at 0.75 + 6 x 22.0556 = 133.0833."""
    studs = regular_studs(200 * INCH, 3 * INCH // 2, 24 * INCH)
    (at,) = splice_points(200 * INCH, studs, 144 * INCH) or (0,)
    assert abs(at - round(133.083333 * INCH)) < 100
    rails = [m for m in build("A", 200 * INCH, 84 * INCH, TWO_BY_TWO, studs) if m.role == "rail"]
    assert [m.length for m in rails] == [at, 200 * INCH - at, 200 * INCH - at, at]  # below, then above
    assert at in studs
    assert 200 * INCH - at in studs


def test_a_seam_that_no_stud_serves_makes_the_bays_smaller() -> None:
    """60 in: cloth that reaches 36 in is seamed over the stud at 39.75 or 20.25; one that reaches 20 is not.

    It needs a stud in each 20 in: the first at 20.25 is too far, so there are more bays.
    """
    assert len(stud_centres(60 * INCH, TWO_BY_TWO, 36 * INCH, [], 0)) == 2
    studs = stud_centres(60 * INCH, TWO_BY_TWO, 20 * INCH, [], 0)
    assert splice_points(60 * INCH, studs, 20 * INCH) is not None
    assert len(studs) > 2


def test_a_box_gets_a_stud_against_it() -> None:
    """Frame 60 in, studs at 20.25 and 39.75; a box from 28 to 30 has none within 2 in: one more, at 27.25."""
    found = stud_centres(60 * INCH, TWO_BY_TWO, None, [(28 * INCH, 30 * INCH)], 2 * INCH)
    assert inches(*found) == [20.25, 30.75, 39.75]


def test_a_stud_in_the_way_of_a_box_moves_beside_it() -> None:
    """Box from 19 to 21, stud at 20.25 in it: it moves to 21.75, and the next is 18 away."""
    found = stud_centres(60 * INCH, TWO_BY_TWO, None, [(19 * INCH, 21 * INCH)], 2 * INCH)
    assert inches(*found) == [21.75, 39.75]


def test_a_stud_near_enough_serves_the_box() -> None:
    """Stud at 20.25, its edge at 21; a box from 22.5 to 24.5 is 1 1/2 in away."""
    box = (45 * INCH // 2, 49 * INCH // 2)
    assert inches(*stud_centres(60 * INCH, TWO_BY_TWO, None, [box], 2 * INCH)) == [20.25, 39.75]


WIDTHS = st.integers(8 * 16, 240 * 16).map(lambda n: n * INCH // 16)
BOXES = st.lists(st.integers(4 * 16, 200 * 16).map(lambda n: n * INCH // 16), max_size=2)


@given(WIDTHS, BOXES)
def test_studs_keep_their_spacing_miss_the_boxes_and_never_share_a_place(width: Nm, lefts: list[Nm]) -> None:
    boxes = [(x, x + 2 * INCH) for x in sorted(lefts) if x + 4 * INCH < width]
    boxes = boxes[:1]
    studs = stud_centres(width, TWO_BY_TWO, None, boxes, 2 * INCH)
    half = TWO_BY_TWO.thickness // 2
    line = [half, *studs, width - half]
    apart = [b - a for a, b in itertools.pairwise(line)]
    assert all(a >= 2 * half for a in apart)
    assert max(apart) <= 24 * INCH + 2
    assert not any(s - half < box[1] and s + half > box[0] for s in studs for box in boxes)


@given(WIDTHS, st.integers(1, 8))
def test_studs_are_alike_from_either_end(width: Nm, count: int) -> None:
    studs = even_studs(width, TWO_BY_TWO.thickness, count)
    assert [width - s for s in reversed(studs)] == list(studs) or width % 2
    assert len(studs) == count - 1


@given(WIDTHS, st.integers(8, 120))
def test_members_and_cavities_fill_the_frame(width: Nm, high: int) -> None:
    """Material: width x height is members plus cavities, exactly."""
    height, t = high * INCH, TWO_BY_TWO.thickness
    studs = regular_studs(width, t, 24 * INCH)
    wood = sum(m.length * m.thickness for m in build("A", width, height, TWO_BY_TWO, studs))
    air = sum(c.width * c.height for c in cavities("A", (width, height), TWO_BY_TWO, studs, FILL))
    assert wood + air == width * height
