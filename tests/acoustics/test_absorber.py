"""The absorber model: what must hold for any make-up."""

import math
import subprocess
import sys

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.acoustics.absorber import (
    Layer,
    Makeup,
    absorb,
    check,
    measured,
    normal_alpha,
    surface_impedance,
    thirds_alpha,
)
from estimator.acoustics.ratings import OCTAVES_HZ, THIRDS_HZ, Floats, octave_means, third_centres
from estimator.core.errors import InputError

MAKEUPS = st.builds(
    Makeup,
    st.lists(st.builds(Layer, st.floats(0.005, 0.2), st.floats(1000, 300_000)), min_size=1, max_size=3).map(
        tuple
    ),
    st.floats(0, 0.5),
    st.floats(0, 2000),
)
BOARD = Makeup((Layer(0.038, 16288),))


@settings(max_examples=40, deadline=None)
@given(MAKEUPS)
def test_every_make_up_absorbs_something_and_no_plane_wave_more_than_all(makeup: Makeup) -> None:
    normal = normal_alpha([makeup], third_centres())
    paris = thirds_alpha([makeup], None)
    assert np.all((normal > 0) & (normal <= 1 + 1e-12))
    assert np.all((paris > 0) & (paris <= 1 + 1e-12))
    finite = thirds_alpha([makeup])
    assert np.all(np.isfinite(finite))
    assert np.all(finite > 0)


@settings(max_examples=20, deadline=None)
@given(st.floats(0.01, 0.1), st.floats(5000, 100_000), st.floats(0.1, 0.9))
def test_a_layer_cut_in_two_is_the_same_layer(thickness: float, sigma: float, part: float) -> None:
    whole = Makeup((Layer(thickness, sigma),), 0.03)
    cut = Makeup((Layer(thickness * part, sigma), Layer(thickness * (1 - part), sigma)), 0.03)
    found = thirds_alpha([whole, cut], None)
    assert found[0] == pytest.approx(found[1], abs=1e-9)


def quarter_wave(depth: float) -> Floats:
    return np.array([343 / (4 * depth)])


def test_a_gap_is_a_layer_of_air() -> None:
    """Textbook: a thin resistive layer at a quarter wave off the wall sees no wall: alpha = 4 z/(z + 1)^2."""
    impedance = 1213.0 * 0.343
    cloth = Makeup((Layer(1e-6, 100.0),), 0.1, cloth=impedance)
    assert normal_alpha([cloth], quarter_wave(0.1))[0, 0] == pytest.approx(1.0, abs=1e-4)
    half = Makeup((Layer(1e-6, 100.0),), 0.1, cloth=3 * impedance)
    assert normal_alpha([half], quarter_wave(0.1))[0, 0] == pytest.approx(0.75, abs=1e-4)


def test_a_deep_layer_shows_its_characteristic_impedance() -> None:
    from estimator.acoustics.absorber import characteristic  # noqa: PLC0415 - beside its one use

    f = np.array([1000.0])
    deep = surface_impedance([Makeup((Layer(1.0, 100_000.0),))], f, np.zeros(1))[0, 0, 0]
    impedance, _ = characteristic(f, np.array([100_000.0]))
    assert deep == pytest.approx(impedance[0], rel=1e-6)


def test_finite_sample_tends_to_the_infinite_one() -> None:
    large = octave_means(thirds_alpha([BOARD], (30.0, 30.0)))[0]
    infinite = octave_means(thirds_alpha([BOARD], None))[0]
    small = octave_means(thirds_alpha([BOARD], (1.0, 1.0)))[0]
    assert np.abs(large - infinite).max() < 0.05
    assert np.all(small[1:4] > large[1:4]), "edges absorb"


def test_sides_may_be_named_either_way() -> None:
    turned = thirds_alpha([BOARD], (3.0, 3.6))
    assert thirds_alpha([BOARD], (3.6, 3.0)) == pytest.approx(turned, abs=1e-3)


def test_one_make_up_is_the_same_alone_and_among_others() -> None:
    others = [Makeup((Layer(0.01 * i, 9000.0), Layer(0.02, 30_000.0))) for i in range(1, 90)]
    among = thirds_alpha([*others, BOARD])
    assert thirds_alpha([BOARD])[0] == pytest.approx(among[-1], abs=1e-12)


def test_estimate_carries_its_band_and_its_range() -> None:
    found = absorb(Makeup((Layer(0.038, 77477),)))
    assert found.valid == (False, False, False, True, True, True)
    assert all(a <= b <= c for a, b, c in zip(found.low, found.alpha, found.high, strict=True))
    assert "estimated, not guaranteed" in found.origin
    assert len(found.thirds) == len(THIRDS_HZ)
    assert found.alpha == pytest.approx(np.reshape(found.thirds, (6, 3)).mean(axis=1))


def test_band_holds_the_ends_of_thirty_percent() -> None:
    found = absorb(BOARD)
    for by in (0.7, 1.3):
        end = absorb(Makeup((Layer(0.038, 16288 * by),))).alpha
        assert all(
            lo - 1e-12 <= a <= hi + 1e-12 for lo, a, hi in zip(found.low, end, found.high, strict=True)
        )


def test_nothing_is_said_below_the_lowest_octave() -> None:
    assert min(OCTAVES_HZ) == 125
    assert min(THIRDS_HZ) == 100


def test_a_measured_row_is_kept_as_it_is() -> None:
    row = (0.22, 0.82, 1.21, 1.10, 1.02, 1.05)
    found = measured(row, "A", "lab report 12")
    assert found.alpha == found.low == found.high == row
    assert all(found.valid)
    assert "lab report 12" in found.origin


@pytest.mark.parametrize(
    "makeup",
    [
        Makeup(()),
        Makeup((Layer(0.0, 16288),)),
        Makeup((Layer(0.04, math.nan),)),
        Makeup((Layer(0.04, 16288),), -0.01),
        Makeup((Layer(0.04, 16288),), 0.0, math.inf),
    ],
)
def test_impossible_make_ups_are_refused(makeup: Makeup) -> None:
    with pytest.raises(InputError):
        check(makeup)


def test_scipy_waits_until_it_is_needed() -> None:
    modules = "estimator.acoustics.absorber, estimator.acoustics.smallest"
    code = f"import sys, {modules}; sys.exit('scipy' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
