"""Rooms: directions, treatment taking the place of what it covers, screens and clouds, refusals."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.acoustics.room import (
    AXES,
    Patch,
    RoomModel,
    Surface,
    both_faces,
    check_room,
    facing,
    treat,
)
from estimator.core.errors import InputError

HARD, SOFT = (0.05,) * 6, (0.8,) * 6


def wall(name: str = "west", area: float = 10.0) -> Surface:
    return Surface(name, area, HARD, AXES["x"])


ROOM = RoomModel(30.0, (wall(), wall("east")))


@given(st.floats(-1, 1), st.floats(-1, 1), st.floats(0.1, 1))
def test_shares_of_any_normal_add_up_to_one(x: float, y: float, z: float) -> None:
    assert sum(facing((x, y, z))) == pytest.approx(1)


def test_a_wall_at_45_degrees_counts_half_each_way() -> None:
    assert facing((1, -1, 0)) == pytest.approx((0.5, 0.5, 0))


def test_a_normal_without_length_is_refused() -> None:
    with pytest.raises(ValueError, match="nowhere"):
        facing((0, 0, 0))


def test_what_a_frame_covers_is_taken_away_first() -> None:
    treated = treat(ROOM, [Patch("W1", "west", 4.0, SOFT), Patch("W2", "west", 1.0, SOFT)])
    areas = {s.name: s.area_m2 for s in treated.surfaces}
    assert areas == {"west": 5.0, "east": 10.0, "frame W1": 4.0, "frame W2": 1.0}
    assert treated.area_m2 == pytest.approx(ROOM.area_m2)
    assert all(s.shares == AXES["x"] for s in treated.surfaces)


def test_a_wall_may_be_covered_whole() -> None:
    assert treat(ROOM, [Patch("W", "west", 10.0, SOFT)]).surfaces[0].area_m2 == 0


@pytest.mark.parametrize(
    "patch", [Patch("W", "north", 1.0, SOFT), Patch("W", "west", 10.1, SOFT), Patch("W", "west", -1.0, SOFT)]
)
def test_treatment_that_does_not_fit_is_refused(patch: Patch) -> None:
    with pytest.raises(InputError):
        treat(ROOM, [patch])


def test_a_cloud_absorbs_on_both_faces_less_what_is_stated() -> None:
    """2 x 3 m2 x 0.8 x (1 - 0.25) = 3.6 m2."""
    cloud = both_faces("C1", 3.0, SOFT, 0.25, "flush data")
    assert cloud.absorption_m2 == pytest.approx((3.6,) * 6)
    assert "25%" in cloud.source


@pytest.mark.parametrize(("area", "reduction"), [(3.0, 1.1), (3.0, -0.1), (-1.0, 0.2)])
def test_impossible_clouds_are_refused(area: float, reduction: float) -> None:
    with pytest.raises(InputError):
        both_faces("C1", area, SOFT, reduction)


@pytest.mark.parametrize(
    "room",
    [
        RoomModel(0.0, (wall(),)),
        RoomModel(30.0, ()),
        RoomModel(30.0, (wall(), wall())),
        RoomModel(30.0, (wall(area=-1.0), wall("east"))),
        RoomModel(30.0, (Surface("west", 10.0, (2.0,) * 6, AXES["x"]),)),
        RoomModel(30.0, (Surface("west", 10.0, HARD, (1.0, 1.0, 0.0)),)),
    ],
)
def test_impossible_rooms_are_refused(room: RoomModel) -> None:
    with pytest.raises(InputError):
        check_room(room)
