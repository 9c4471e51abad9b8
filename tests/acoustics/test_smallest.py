"""The smallest area: against a linear programme where the formula is one, and a fine grid where it is not."""

from itertools import product

import numpy as np
import pytest
from scipy.optimize import linprog

from estimator.acoustics.ratings import Six
from estimator.acoustics.reverberation import Formula, times
from estimator.acoustics.room import AXES, Patch, RoomModel, Surface, treat
from estimator.acoustics.smallest import Offer, Smallest, smallest_area
from estimator.acoustics.targets import Target, own_target, target_for
from estimator.catalogue.references import references
from estimator.core.errors import InputError

SIZE = (6.0, 4.5, 2.7)
BARE: Six = (0.29, 0.10, 0.05, 0.04, 0.07, 0.09)
CARPET: Six = (0.08, 0.24, 0.57, 0.69, 0.71, 0.73)
PANEL: Six = (0.25, 0.62, 0.89, 0.93, 0.92, 0.93)
GLASS: Six = (0.18, 0.06, 0.04, 0.03, 0.02, 0.02)


def room() -> RoomModel:
    a, b, c = SIZE
    walls = (("west", b * c, "x", BARE), ("east", b * c, "x", GLASS), ("south", a * c, "y", BARE))
    flats = (("north", a * c, "y", BARE), ("floor", a * b, "z", CARPET), ("ceiling", a * b, "z", BARE))
    surfaces = tuple(Surface(n, s, alpha, AXES[axis]) for n, s, axis, alpha in (*walls, *flats))
    return RoomModel(a * b * c, surfaces)


def offers(*names: str) -> list[Offer]:
    areas = {s.name: s.area_m2 for s in room().surfaces}
    return [Offer(name, 0.8 * areas[name], PANEL) for name in names]


def found_by(found: tuple[Smallest, ...]) -> dict[Formula, Smallest]:
    return {f.formula: f for f in found}


def mid(seconds: Six) -> float:
    return (seconds[2] + seconds[3]) / 2


def treated(areas: dict[str, float], formula: Formula) -> Six:
    patches = [Patch(f"p{n}", n, area, PANEL) for n, area in areas.items()]
    return times(treat(room(), patches))[formula]


def test_sabine_against_a_linear_programme() -> None:
    """Sabine's area is linear in what is treated, so a mask's limits make a linear programme."""
    target = target_for("control", room().volume_m3, references())
    assert target is not None
    names = ("west", "east", "south", "north", "ceiling")
    gains = [np.array(PANEL) - s.alpha for n in names for s in room().surfaces if s.name == n]
    bare = room()
    k = 24 * np.log(10) / 343 * bare.volume_m3
    areas = np.array([s.area_m2 for s in bare.surfaces])
    have = areas @ np.array([s.alpha for s in bare.surfaces]) + 4 * bare.volume_m3 * np.array(
        bare.attenuation
    )
    limits = np.array([float(h) for h in target.high_s if h is not None])
    need = np.asarray(k / limits - have)[1:]
    bounds = [(0, o.most_m2) for o in offers(*names)]
    least = linprog(np.ones(5), A_ub=-np.array(gains).T[1:], b_ub=-need, bounds=bounds)
    answer = found_by(smallest_area(bare, offers(*names), target, 250))["sabine"]
    assert least.success
    assert answer.met
    assert least.fun is not None
    assert answer.total_m2 == pytest.approx(float(least.fun), rel=0.01, abs=0.05)
    assert answer.total_m2 >= float(least.fun) - 0.001


@pytest.mark.parametrize("formula", ["eyring", "fitzroy", "arau-puchades"])
def test_against_a_grid_over_three_walls(formula: Formula) -> None:
    target, names, steps = own_target(0.35), ("west", "south", "ceiling"), 14
    most = [o.most_m2 for o in offers(*names)]
    best = min(
        sum(parts)
        for parts in product(*(np.linspace(0, m, steps + 1) for m in most))
        if mid(treated(dict(zip(names, parts, strict=True)), formula)) <= target.time_s
    )
    answer = found_by(smallest_area(room(), offers(*names), target))[formula]
    assert answer.met
    assert answer.total_m2 <= best * 1.01 + 0.03
    assert mid(answer.times_s) <= target.time_s + 1e-6


def test_the_answer_is_what_the_room_then_gives() -> None:
    for answer in smallest_area(room(), offers("west", "north"), own_target(0.4)):
        again = treated(dict(answer.areas), answer.formula)
        assert answer.times_s == pytest.approx(again)
        assert answer.total_m2 == pytest.approx(sum(a for _, a in answer.areas))


def test_nothing_is_treated_where_nothing_is_needed() -> None:
    for answer in smallest_area(room(), offers("west"), own_target(3.0)):
        assert answer.met
        assert (answer.total_m2, answer.areas) == (0, ())


def test_a_target_out_of_reach_says_so() -> None:
    """A panel cannot mend 125 Hz: it absorbs less there than the board wall it covers."""
    target = target_for("control", room().volume_m3, references())
    assert target is not None
    for answer in smallest_area(room(), offers("west", "south", "ceiling"), target):
        assert not answer.met
        assert 125 in answer.above_hz
        assert dict(answer.areas).keys() == {"west", "south", "ceiling"}


def test_equal_walls_are_not_all_treated_without_need() -> None:
    found = found_by(smallest_area(room(), offers("west", "south", "north", "ceiling"), own_target(0.4)))
    assert len(found["eyring"].areas) == 1


@pytest.mark.parametrize("offer", [Offer("attic", 3.0, PANEL), Offer("west", 99.0, PANEL)])
def test_impossible_offers_are_refused(offer: Offer) -> None:
    with pytest.raises(InputError):
        smallest_area(room(), [offer], own_target(0.4))


def test_the_same_answer_every_time() -> None:
    target: Target = own_target(0.4)
    first = smallest_area(room(), offers("west", "south", "north"), target)
    assert smallest_area(room(), offers("west", "south", "north"), target) == first
