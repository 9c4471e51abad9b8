"""First reflections in rooms that are no boxes: angled walls by hand geometry, re-entrant plans, panels."""

import math
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.acoustics.ratings import Six
from estimator.acoustics.reflections import (
    Panel,
    ReflectingRoom,
    ReflectingWall,
    Reflection,
    Spot,
    clear,
    first_reflections,
    inside,
)
from estimator.core.errors import InputError

HARD: Six = (0.05,) * 6
SOFT: Six = (0.3, 0.6, 0.8, 0.9, 0.9, 0.9)
HEIGHT = 2.7


def plan(corners: list[Spot], panels: tuple[Panel, ...] = ()) -> ReflectingRoom:
    """A plan from its corners, clockwise as seen from above; walls named A, B, C…"""
    ends = pairwise([*corners, corners[0]])
    walls = tuple(ReflectingWall(chr(65 + i), a, b, HEIGHT, HARD) for i, (a, b) in enumerate(ends))
    return ReflectingRoom(walls, HEIGHT, HARD, HARD, panels)


def by_name(found: tuple[Reflection, ...]) -> dict[str, Reflection]:
    return {r.surface: r for r in found}


BOX = [(0.0, 0.0), (0.0, 4.0), (6.0, 4.0), (6.0, 0.0)]
CUT = [(0.0, 0.0), (0.0, 3.0), (2.0, 5.0), (6.0, 5.0), (6.0, 0.0)]
ELL = [(0.0, 0.0), (0.0, 6.0), (3.0, 6.0), (3.0, 3.0), (6.0, 3.0), (6.0, 0.0)]


def test_a_wall_at_45_degrees_by_hand() -> None:
    """Wall B runs from (0, 3) to (2, 5), on y = x + 3: mirroring swaps (x, y) to (y - 3, x + 3).

    Source (1, 1) mirrors to (-2, 4); to the listener (3, 2): sqrt(25 + 4) = 5.38516 m. The line from the
    image meets y = x + 3 where -2 + 5t + 3 = 4 - 2t: t = 3/7, at (1/7, 22/7), sqrt(2)/7 from (0, 3).
    """
    found = by_name(first_reflections(plan(CUT), (1.0, 1.0, 1.2), (3.0, 2.0, 1.2)))["B"]
    assert found.path_m == pytest.approx(math.sqrt(29))
    assert found.point == pytest.approx((1 / 7, 22 / 7, 1.2))
    assert found.spot == pytest.approx((math.sqrt(2) / 7, 1.2))
    assert found.visible
    assert found.delay_ms == pytest.approx((math.sqrt(29) - math.sqrt(5)) / 0.343)
    assert found.level_before_db == pytest.approx(
        20 * math.log10(math.sqrt(5) / math.sqrt(29)) + 10 * math.log10(0.95)
    )


def test_an_image_beside_its_wall_is_marked() -> None:
    """By wall B, y = x + 3 from x = 0 to 2.

    From (4, 1) to (5, 1): image (-2, 7), t = 6/13, strikes at x = 16/13: on the wall. From (1, 0.3) to
    (0.3, 0.2): image (-2.7, 4), t = 3.7/6.8, strikes at x = -1.068: beside it.
    """
    found = by_name(first_reflections(plan(CUT), (4.0, 1.0, 1.2), (5.0, 1.0, 1.2)))["B"]
    assert found.point == pytest.approx((16 / 13, 55 / 13, 1.2))
    assert found.on_surface
    away = by_name(first_reflections(plan(CUT), (1.0, 0.3, 1.2), (0.3, 0.2, 1.2)))["B"]
    assert away.point[0] == pytest.approx(-2.7 + 3 * 3.7 / 6.8)
    assert not away.on_surface
    assert not away.visible


def test_a_re_entrant_corner_hides() -> None:
    """In an L from (1, 5) to (5, 1) the inner corner (3, 3) stands on the way; wall B is out of sight."""
    ell = plan(ELL)
    assert not clear(ell.walls, (1.0, 5.5, 1.2), (5.5, 1.0, 1.2))
    found = by_name(first_reflections(ell, (1.0, 5.0, 1.2), (5.0, 1.0, 1.2)))
    assert found["A"].visible, "the outer wall is seen by both"
    assert found["B"].on_surface
    assert not found["B"].visible
    assert "C" not in found or not found["C"].visible


def test_walls_turned_away_send_nothing() -> None:
    """Wall C of the L faces west; from a listener east of its plane it has no image."""
    found = by_name(first_reflections(plan(ELL), (1.0, 1.0, 1.2), (5.0, 1.0, 1.2)))
    assert "C" not in found


def test_floor_under_an_l_is_only_there_within_it() -> None:
    found = by_name(first_reflections(plan(ELL), (2.9, 5.8, 1.2), (5.8, 2.9, 1.2)))
    assert not found["floor"].on_surface


def test_a_panel_on_the_point_is_found_and_lowers_the_level() -> None:
    """In the box from (1, 1) to (5, 1) wall B (y = 4) is struck at x = 3, 1.2 m up."""
    panel = Panel("W2", "B", 2.5, 0.9, 1.0, 1.2, SOFT)
    bare = by_name(first_reflections(plan(BOX), (1.0, 1.0, 1.2), (5.0, 1.0, 1.2)))["B"]
    treated = by_name(first_reflections(plan(BOX, (panel,)), (1.0, 1.0, 1.2), (5.0, 1.0, 1.2)))["B"]
    assert (bare.panel, treated.panel) == ("", "W2")
    assert treated.level_before_db == bare.level_before_db
    assert treated.level_after_db - treated.level_before_db == pytest.approx(10 * math.log10(0.1 / 0.95))
    assert bare.strong
    assert not treated.strong


@pytest.mark.parametrize(("left", "bottom"), [(3.01, 0.9), (1.99, 0.9), (2.5, 1.21), (2.5, -0.01)])
def test_a_panel_beside_the_point_does_nothing(left: float, bottom: float) -> None:
    panel = Panel("W2", "B", left, bottom, 1.0, 1.2, SOFT)
    assert by_name(first_reflections(plan(BOX, (panel,)), (1.0, 1.0, 1.2), (5.0, 1.0, 1.2)))["B"].panel == ""


def test_a_cloud_on_the_ceiling_is_in_plan_coordinates() -> None:
    panel = Panel("C1", "ceiling", 2.0, 0.5, 2.0, 1.0, SOFT)
    found = by_name(first_reflections(plan(BOX, (panel,)), (1.0, 1.0, 1.2), (5.0, 1.0, 1.2)))
    assert found["ceiling"].panel == "C1"
    assert found["floor"].panel == ""


def test_late_reflections_are_not_strong() -> None:
    hall = plan([(0.0, 0.0), (0.0, 20.0), (20.0, 20.0), (20.0, 0.0)])
    found = by_name(first_reflections(hall, (9.0, 2.0, 1.2), (11.0, 2.0, 1.2)))["B"]
    assert found.delay_ms > 15
    assert not found.early
    assert not found.strong


@settings(max_examples=60, deadline=None)
@given(
    st.floats(0.1, 5.9), st.floats(0.1, 3.9), st.floats(0.1, 2.6), st.floats(0.1, 5.9), st.floats(0.1, 3.9)
)
def test_a_box_shows_all_six_and_the_same_both_ways(x: float, y: float, z: float, u: float, v: float) -> None:
    """Reciprocity; and from source to point to listener is as long as from the image."""
    source, listener = (x, y, z), (u, v, 1.2)
    if math.dist(source, listener) < 0.01:
        return
    there = by_name(first_reflections(plan(BOX), source, listener))
    back = by_name(first_reflections(plan(BOX), listener, source))
    assert len(there) == 6
    for name, found in there.items():
        assert found.visible
        assert found.path_m == pytest.approx(back[name].path_m)
        assert found.point == pytest.approx(back[name].point, abs=1e-9)
        assert found.path_m == pytest.approx(
            math.dist(source, found.point) + math.dist(found.point, listener)
        )


def test_earliest_first() -> None:
    found = first_reflections(plan(CUT), (1.0, 1.0, 1.2), (3.0, 2.0, 1.2))
    assert [r.path_m for r in found] == sorted(r.path_m for r in found)


def test_inside_an_l() -> None:
    walls = plan(ELL).walls
    assert inside(walls, (1.0, 5.0))
    assert not inside(walls, (5.0, 5.0))
    assert not inside(walls, (7.0, 1.0))


@pytest.mark.parametrize(
    ("source", "listener"),
    [
        ((7.0, 1.0, 1.2), (3.0, 1.0, 1.2)),
        ((1.0, 1.0, 2.8), (3.0, 1.0, 1.2)),
        ((1.0, 1.0, 1.2), (3.0, 1.0, 0.0)),
        ((1.0, 1.0, 1.2), (1.0, 1.0, 1.2)),
    ],
)
def test_positions_that_cannot_be_are_refused(
    source: tuple[float, float, float], listener: tuple[float, float, float]
) -> None:
    with pytest.raises(InputError):
        first_reflections(plan(BOX), source, listener)
