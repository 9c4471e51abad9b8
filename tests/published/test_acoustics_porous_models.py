"""Porous-material models: impedance, range of the fit, flow resistivity, absorption at normal incidence.

Sources: Delany and Bazley (1970), re-fitted to X = rho f / sigma: Bies, Engineering Noise Control 5e, App. D;
Hopkins, Sound Insulation (2007), eq. 1.171; Mechel, Formulas of Acoustics 2e, G.11. Miki, J. Acoust. Soc.
Jpn. (E) 11 (1990), eq. 30-34. Hopkins eq. 1.165 after Bies and Nichols for the flow resistivity. Spread of
published resistivities: Allard and Atalla 2e, tables 6.1 and 13.2. Read in published excerpts. The absorption
at normal incidence was worked by the open library acoustipy (forced to the model named) for rho 1.213, c 343.
"""

import numpy as np
import pytest

from estimator.acoustics.absorber import (
    VALID_F_OVER_SIGMA,
    Layer,
    Makeup,
    Model,
    characteristic,
    flow_resistivity,
    normal_alpha,
    valid_hz,
)
from estimator.acoustics.ratings import OCTAVES_HZ

OCTAVES = np.asarray(OCTAVES_HZ, dtype=np.float64)
ONE = np.array([1.0])


def test_delany_bazley_refit_at_x_one_tenth() -> None:
    impedance, _ = characteristic(0.1 / 1.213 * ONE, ONE, "delany-bazley")
    assert impedance[0] == pytest.approx(1.3240680 - 0.4693742j, abs=1e-6)


def test_miki_at_y_one_tenth() -> None:
    impedance, _ = characteristic(0.1 * ONE, ONE, "miki")
    assert impedance[0] == pytest.approx(1.2999840 - 0.4585469j, abs=1e-6)


def test_range_of_the_fit() -> None:
    assert VALID_F_OVER_SIGMA == (0.01, 1.0)
    assert valid_hz(77477)[0] == pytest.approx(774.77, abs=0.01)
    assert valid_hz(16288)[1] == pytest.approx(16288)


@pytest.mark.parametrize(("density", "sigma"), [(48, 16288), (128, 77477)])
def test_flow_resistivity_from_density(density: float, sigma: float) -> None:
    assert flow_resistivity(density) == pytest.approx(sigma, abs=1)


def test_flow_resistivity_lies_within_the_published_spread() -> None:
    """Glass wool of 130 kg/m3: 40 000; rock wool: 135 000 Pa s/m2."""
    assert 40_000 < flow_resistivity(130) < 135_000


@pytest.mark.parametrize(
    ("sigma", "gap_m", "model", "alpha"),
    [
        (16288, 0.0, "miki", (0.04383, 0.1379, 0.3796, 0.7813, 0.9997, 0.9317)),
        (16288, 0.05, "miki", (0.1607, 0.46, 0.8675, 0.9698, 0.8136, 0.9555)),
        (77477, 0.0, "miki", (0.1039, 0.2733, 0.5236, 0.7119, 0.8019, 0.8953)),
        (77477, 0.0, "delany-bazley", (0.06941, 0.2457, 0.505, 0.6891, 0.792, 0.9016)),
    ],
)
def test_normal_incidence_38_mm(sigma: float, gap_m: float, model: Model, alpha: tuple[float, ...]) -> None:
    found = normal_alpha([Makeup((Layer(0.038, sigma),), gap_m)], OCTAVES, model)[0]
    assert found == pytest.approx(alpha, abs=2e-3)


def density_and_modulus(f_over_sigma: float) -> tuple[complex, complex]:
    """Return w rho_eff / sigma and the bulk modulus over 101 320 Pa by Allard and Champoux."""
    impedance, wave_number = characteristic(f_over_sigma * ONE, ONE, "allard-champoux")
    density = (impedance * wave_number)[0] * 1.213
    modulus = (impedance / wave_number)[0] * 1.213 * 343**2
    return complex(2 * np.pi * f_over_sigma * density), complex(modulus / 101_320)


def test_allard_champoux_meets_the_low_frequency_limit() -> None:
    """Darcy flow: w rho_eff tends to -j sigma, the bulk modulus to the isothermal 101 320 Pa."""
    flow, modulus = density_and_modulus(1e-9)
    assert flow == pytest.approx(-1j, abs=0.002)
    assert modulus == pytest.approx(1, abs=0.001)


def test_allard_champoux_meets_the_high_frequency_limit() -> None:
    """Free air: the density tends to 1.2 kg/m3, the bulk modulus to the adiabatic 1.4 times 101 320 Pa."""
    flow, modulus = density_and_modulus(1e9)
    assert flow.real / (2 * np.pi * 1e9) == pytest.approx(1.2, rel=1e-4)
    assert modulus == pytest.approx(1.4, abs=0.001)
