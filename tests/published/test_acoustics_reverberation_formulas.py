"""Reverberation formulas against their papers' arithmetic in box rooms.

Sources: Sabine (1922); Eyring, J. Acoust. Soc. Am. 1 (1930); Millington, ibid. 4 (1932); Fitzroy, ibid. 31
(1959); Arau-Puchades, Acustica 65 (1988), formula 18. The first three and the last also in the transcribed
reference data of the open library phonometry; pyroomacoustics is asked here for Sabine and Millington.
Speed of sound 343 m/s, so k = 24 ln 10 / c = 0.161114.
"""

import pyroomacoustics
import pytest

from estimator.acoustics.ratings import Six
from estimator.acoustics.reverberation import FORMULAS, times
from estimator.acoustics.room import AXES, RoomModel, Surface


def flat(alpha: float) -> Six:
    return (alpha,) * 6


def box(size: tuple[float, float, float], x: float, y: float, z: float) -> RoomModel:
    a, b, c = size
    pairs = (("x", b * c, x), ("y", a * c, y), ("z", a * b, z))
    surfaces = [
        Surface(f"{axis}{end}", area, flat(alpha), AXES[axis]) for axis, area, alpha in pairs for end in "01"
    ]
    return RoomModel(a * b * c, tuple(surfaces), air=False)


EVEN, UNEVEN = box((8, 5, 3), 0.2, 0.2, 0.2), box((8, 5, 3), 0.5, 0.1, 0.1)


def test_sabine() -> None:
    assert times(EVEN)["sabine"][0] == pytest.approx(0.611824655, abs=1e-6)


def test_norris_eyring() -> None:
    assert times(EVEN)["eyring"][0] == pytest.approx(0.548368663, abs=1e-6)


def test_arau_puchades() -> None:
    assert times(UNEVEN)["arau-puchades"][0] == pytest.approx(0.812146928, abs=1e-6)


def test_millington_sette() -> None:
    """Own arithmetic: -sum(S ln(1 - alpha)) of 30 m2 at 0.5 and 128 m2 at 0.1."""
    assert times(UNEVEN)["millington"][0] == pytest.approx(0.563983152, abs=1e-5)


@pytest.mark.parametrize("formula", [f for f in FORMULAS if f != "sabine"])
def test_even_absorption_makes_all_but_sabine_agree(formula: str) -> None:
    """An algebraic identity of the formulas."""
    found = {str(name): t for name, t in times(EVEN).items()}
    assert found[formula][0] == pytest.approx(0.548368663, abs=1e-9)


@pytest.mark.parametrize(
    ("formula", "seconds"),
    [("sabine", 0.298), ("eyring", 0.241), ("fitzroy", 0.551), ("arau-puchades", 0.333)],
)
def test_wall_only_treatment_makes_them_disagree(formula: str, seconds: float) -> None:
    """6 x 4.5 x 2.7 m, walls 0.6, floor and ceiling 0.1; the spread must not be hidden."""
    found = {str(name): t for name, t in times(box((6, 4.5, 2.7), 0.6, 0.6, 0.1)).items()}
    assert found[formula][0] == pytest.approx(seconds, abs=0.002)


@pytest.mark.parametrize(("ours", "theirs"), [("sabine", "sabine"), ("millington", "eyring")])
def test_pyroomacoustics_gives_the_same(ours: str, theirs: str) -> None:
    """Absorption 0.5 on x walls, 0.1 elsewhere; what the library calls Eyring is Millington's sum."""
    names = {"west": 0.5, "east": 0.5, "south": 0.1, "north": 0.1, "floor": 0.1, "ceiling": 0.1}
    materials = {n: pyroomacoustics.Material(a) for n, a in names.items()}
    pyroomacoustics.constants.set("c", 343.0)
    shoebox = pyroomacoustics.ShoeBox([8, 5, 3], fs=16000, materials=materials, max_order=0)
    found = {str(name): t for name, t in times(UNEVEN).items()}
    assert found[ours][0] == pytest.approx(shoebox.rt60_theory(formula=theirs), rel=1e-3)
