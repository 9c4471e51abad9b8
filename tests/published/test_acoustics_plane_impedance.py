"""Absorption of a plane of known impedance. Sources: ISO 10534-1:1996, eq. 13 and 14; Mechel, Formulas of
Acoustics 2e, D.5: no locally reacting plane absorbs more than 0.951 of a diffuse field, at z = 1.567.
"""

import numpy as np
import pytest

from estimator.acoustics.absorber import plane_wave_alpha
from estimator.acoustics.radiation import quadrature


def test_matched_impedance_absorbs_everything() -> None:
    assert plane_wave_alpha(np.array([1.0 + 0j]))[0] == pytest.approx(1.0, abs=1e-12)


@pytest.mark.parametrize("z", [3.0, 1 / 3])
def test_standing_wave_ratio_of_three(z: float) -> None:
    """|r| = (s - 1)/(s + 1) = 1/2, alpha = 1 - |r|^2."""
    assert plane_wave_alpha(np.array([z + 0j]))[0] == pytest.approx(0.75, abs=1e-9)


def test_greatest_diffuse_absorption_of_a_local_plane() -> None:
    theta, weight = quadrature(0.0, np.pi / 2, 96)
    z = np.arange(1.2, 2.0, 0.001)
    alpha = plane_wave_alpha(z[:, None].astype(np.complex128), np.cos(theta)) @ (weight * np.sin(2 * theta))
    assert alpha.max() == pytest.approx(0.951, abs=5e-4)
    assert z[alpha.argmax()] == pytest.approx(1.567, abs=2e-3)
