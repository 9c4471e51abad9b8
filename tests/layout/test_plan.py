"""The plan against hand geometry."""

from collections.abc import Mapping, Sequence
from typing import Any

import pytest

from estimator.core.errors import InputError
from estimator.core.units import FOOT, INCH, METRE, MM, Nm
from estimator.layout.plan import chain, closing_error, room_plan
from tests.layout.jobs import BOX_ROOM, write_job


def plan_of(walls: Sequence[Mapping[str, Any]], **room: Any) -> Any:
    return room_plan(write_job(room={"wall": walls, **room}, cloud=[CLOUD]).room)


CLOUD = {"name": "K", "width": "4 ft", "length": "4 ft", "drop": "6 in", "make-up": "standard"}
METRIC: list[dict[str, Any]] = [
    {"name": "north", "length": "6 m"}, {"name": "east", "length": "4.5 m"},
    {"name": "south", "length": "6 m"}, {"name": "west", "length": "4.5 m"},
]  # fmt: skip


def test_square_corners_close_to_the_nanometre() -> None:
    points = chain([6 * METRE, 4 * METRE, 6 * METRE, 4 * METRE], [90.0] * 4)
    assert points == ((0, 0), (6 * METRE, 0), (6 * METRE, -4 * METRE), (0, -4 * METRE), (0, 0))


def test_area_and_volume() -> None:
    """6 x 4.5 m and 2.7 m high: 27 m2 and 72.9 m3."""
    plan, problems = plan_of(METRIC, height="2.7 m")
    assert plan.floor_area_m2 == pytest.approx(27.0, rel=1e-12)
    assert plan.volume_m3 == pytest.approx(72.9, rel=1e-12)
    assert problems == ()


def test_a_bulkhead_takes_its_volume() -> None:
    """6 m x 0.5 m x (2.7 - 2.4) m = 0.9 m3."""
    drop = {"name": "D", "wall": "north", "width": "6 m", "depth": "0.5 m", "underside": "2.4 m"}
    plan, _ = plan_of(METRIC, height="2.7 m", drop=[drop])
    assert plan.volume_m3 == pytest.approx(72.0, rel=1e-9)


def test_two_bulkheads_that_cross_count_their_corner_once() -> None:
    """6 x 0.5 x 0.3 + 4.5 x 0.5 x 0.2 less the corner 0.5 x 0.5 x 0.2: 0.9 + 0.45 - 0.05 = 1.3 m3."""
    drops = [
        {"name": "D", "wall": "north", "width": "6 m", "depth": "0.5 m", "underside": "2.4 m"},
        {"name": "E", "wall": "east", "width": "4.5 m", "depth": "0.5 m", "underside": "2.5 m"},
    ]
    plan, _ = plan_of(METRIC, height="2.7 m", drop=drops)
    assert plan.volume_m3 == pytest.approx(72.9 - 1.3, rel=1e-9)


def test_a_chamfer_takes_half_a_square() -> None:
    """10 x 10 ft, a corner of 3 ft legs cut off: 100 - 9 / 2 = 95.5 ft2; 3 sqrt 2 ft = 50.9117 in."""
    walls: list[dict[str, Any]] = [
        {"name": "a", "length": "7 ft", "turn": 45}, {"name": "b", "length": "50.911688245 in", "turn": 45},
        {"name": "c", "length": "7 ft"}, {"name": "d", "length": "10 ft"}, {"name": "e", "length": "10 ft"},
    ]  # fmt: skip
    plan, problems = plan_of(walls)
    assert plan.floor_area_m2 == pytest.approx(95.5 * 0.3048**2, rel=1e-9)
    assert plan.closing_error < MM // 1000
    assert problems == ()


def test_an_outside_corner_turns_left() -> None:
    """10 x 10 ft with a 4 x 4 ft corner bitten out: 84 ft2."""
    walls: list[dict[str, Any]] = [
        {"name": "a", "length": "6 ft"}, {"name": "b", "length": "4 ft", "turn": -90},
        {"name": "c", "length": "4 ft"}, {"name": "d", "length": "6 ft"}, {"name": "e", "length": "10 ft"},
        {"name": "f", "length": "10 ft"},
    ]  # fmt: skip
    plan, _ = plan_of(walls)
    assert plan.floor_area_m2 == pytest.approx(84 * 0.3048**2, rel=1e-12)


def test_a_small_closing_error_is_a_warning_in_plain_words() -> None:
    walls = [{**BOX_ROOM[0], "length": "14 ft 1/2 in"}, *BOX_ROOM[1:]]
    plan, problems = plan_of(walls)
    assert plan.closing_error == INCH // 2
    (warning,) = problems
    assert warning.severity == "warning"
    assert 'ends 1/2" too far right of where the first starts' in warning.what


@pytest.mark.parametrize(
    ("first", "said"),
    [
        ({"length": "16 ft"}, "the walls do not close: the last ends 2'0\" too far right"),
        ({"turn": 80}, "add up to 350 degrees, and a closed room's add up to 360"),
    ],
)
def test_a_plan_that_cannot_be_is_refused(first: dict[str, Any], said: str) -> None:
    with pytest.raises(InputError, match=said):
        plan_of([{**BOX_ROOM[0], **first}, *BOX_ROOM[1:]])


def test_walls_that_cross_are_refused() -> None:
    """10 x 10 ft with a slot from below, 2 ft wide and 15 ft high: it comes out through the wall above."""
    sides = [(10, 90), (10, 90), (4, 90), (15, -90), (2, -90), (15, 90), (4, 90), (10, 90)]
    walls = [{"name": f"w{i}", "length": f"{n} ft", "turn": turn} for i, (n, turn) in enumerate(sides)]
    assert closing_error(chain([n * FOOT for n, _ in sides], [float(turn) for _, turn in sides])) == 0
    with pytest.raises(InputError, match="two walls of the plan cross"):
        plan_of(walls)


def test_lengths_are_whole_nanometres() -> None:
    points = chain([10 * FOOT, 5 * FOOT], [45.0, 45.0])
    assert all(isinstance(n, Nm) for point in points for n in point)
