"""Reverberation: what must hold in any room, and what is said beside the numbers."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.acoustics.ratings import OCTAVES_HZ
from estimator.acoustics.reverberation import FORMULAS, RANGE, reverberation, times
from estimator.acoustics.room import AXES, Body, Patch, RoomModel, Surface, facing, treat
from estimator.core.errors import InputError

ALPHA = st.floats(0.02, 0.9)
SIZE = st.tuples(st.floats(2, 15), st.floats(2, 15), st.floats(2, 5))


def box(
    size: tuple[float, float, float], alphas: tuple[float, float, float], *, air: bool = False
) -> RoomModel:
    a, b, c = size
    areas = {"x": 2 * b * c, "y": 2 * a * c, "z": 2 * a * b}
    surfaces = [
        Surface(axis, areas[axis], (alpha,) * 6, AXES[axis])
        for axis, alpha in zip("xyz", alphas, strict=True)
    ]
    return RoomModel(a * b * c, tuple(surfaces), air=air)


@settings(max_examples=60, deadline=None)
@given(SIZE, st.tuples(ALPHA, ALPHA, ALPHA))
def test_order_of_the_formulas(size: tuple[float, float, float], alphas: tuple[float, float, float]) -> None:
    """-ln(1 - a) is above a and convex, and a mean of 1/x or of ln x lies above that of the mean."""
    found = {f: t[0] for f, t in times(box(size, alphas)).items()}
    assert found["millington"] <= found["eyring"] * (1 + 1e-12)
    assert found["eyring"] < found["sabine"]
    assert found["arau-puchades"] <= found["fitzroy"] * (1 + 1e-12)
    assert found["millington"] <= found["arau-puchades"] * (1 + 1e-12)


@settings(max_examples=40, deadline=None)
@given(SIZE, st.tuples(ALPHA, ALPHA, ALPHA), st.floats(0.1, 0.9))
def test_a_surface_cut_in_two_changes_nothing(
    size: tuple[float, float, float], alphas: tuple[float, float, float], part: float
) -> None:
    room = box(size, alphas)
    first, *rest = room.surfaces
    two = [
        Surface("one", first.area_m2 * part, first.alpha, first.shares),
        Surface("two", first.area_m2 * (1 - part), first.alpha, first.shares),
    ]
    cut = RoomModel(room.volume_m3, (*two, *rest), air=False)
    for formula in FORMULAS:
        assert times(cut)[formula] == pytest.approx(times(room)[formula])


def test_turning_the_plan_changes_only_the_directional_formulas_and_not_at_square() -> None:
    """A square room turned by 90 degrees is itself."""
    size = (5.0, 5.0, 2.7)
    plain, turned = times(box(size, (0.3, 0.1, 0.2))), times(box(size, (0.1, 0.3, 0.2)))
    for formula in FORMULAS:
        assert plain[formula] == pytest.approx(turned[formula])


def test_angled_walls_are_shared_between_directions() -> None:
    """Four equal walls at 45 degrees: x and y get the same, so both directions have their mean."""
    walls = [
        Surface(f"w{i}", 10.0, ((0.5 if i % 2 else 0.1),) * 6, facing((x, y, 0)))
        for i, (x, y) in enumerate(((1, 1), (1, -1), (-1, -1), (-1, 1)))
    ]
    flat = Surface("flat", 50.0, (0.3,) * 6, AXES["z"])
    found = times(RoomModel(60.0, (*walls, flat), air=False))
    assert found["fitzroy"] == pytest.approx(found["eyring"], rel=1e-12), "mean 0.3 in every direction"


def test_air_and_bodies_shorten_every_formula() -> None:
    room = box((6, 5, 3), (0.1, 0.1, 0.1))
    still = times(room)
    airy = times(RoomModel(room.volume_m3, room.surfaces))
    people = times(RoomModel(room.volume_m3, room.surfaces, (Body("people", (4.0,) * 6),), air=False))
    for formula in FORMULAS:
        assert airy[formula][5] < still[formula][5]
        assert people[formula][0] < still[formula][0]


def test_bodies_by_sabine() -> None:
    """T = 0.161114 V / (S alpha + 4 m2)."""
    room = box((6, 5, 3), (0.1, 0.1, 0.1))
    found = times(RoomModel(room.volume_m3, room.surfaces, (Body("people", (4.0,) * 6),), air=False))
    assert found["sabine"][0] == pytest.approx(0.1611138 * 90 / (126 * 0.1 + 4), rel=1e-5)


def test_range_is_the_least_and_greatest() -> None:
    found = reverberation(box((6, 4.5, 2.7), (0.6, 0.6, 0.1)))
    stated = [n for n, low in enumerate(found.low_s) if low is not None]
    assert len(stated) >= 4
    for n in stated:
        values = [found.times_s[f][n] or 0 for f in RANGE]
        assert (found.low_s[n], found.high_s[n]) == (min(values), max(values))


def test_no_reverberation_is_shown_below_the_schroeder_frequency() -> None:
    found = reverberation(box((4, 3, 2.5), (0.05, 0.05, 0.05)))
    for row in (found.low_s, found.high_s, *found.times_s.values()):
        assert [value is not None for value in row] == [hz >= found.schroeder_hz for hz in OCTAVES_HZ]
    assert found.low_s[0] is None
    assert any("Schroeder" in p.what and "125 Hz" in p.what for p in found.problems)


def test_before_and_after() -> None:
    room = box((6, 5, 3), (0.05, 0.05, 0.05))
    treated = treat(room, (Patch("W1", "x", 12.0, (0.8,) * 6),))
    before, after = reverberation(room), reverberation(treated)
    gained = np.array(after.absorption_m2) - np.array(before.absorption_m2)
    assert gained == pytest.approx(12 * (0.8 - 0.05)), "what is covered is taken away before"
    was, now = times(room), times(treated)
    assert all(a < b for f in RANGE for a, b in zip(now[f], was[f], strict=True))


def test_a_room_in_which_nothing_absorbs_is_refused() -> None:
    with pytest.raises(InputError):
        times(box((6, 5, 3), (0.0, 0.0, 0.0)))
