"""Diffuse-field absorption of 38 mm layers on a hard wall, mean of the thirds f 2^(-1/3), f, f 2^(1/3).

Sources: Paris, Phil. Mag. 5 (1928), 0-90 degrees; Kuttruff, Room Acoustics; Cox and D'Antonio. Thomasson,
Acustica 44 (1980), for a sample of 3.6 x 3.0 m; for a large one its radiation impedance tends to
1/cos(theta).
The values come from a second, separately written implementation.
"""

import numpy as np
import pytest

from estimator.acoustics.absorber import Layer, Makeup, Reaction, thirds_alpha
from estimator.acoustics.radiation import radiation_impedance
from estimator.acoustics.ratings import octave_means


def flush(sigma: float) -> list[Makeup]:
    return [Makeup((Layer(0.038, sigma),))]


@pytest.mark.parametrize(
    ("sigma", "reaction", "alpha"),
    [
        (16288, "bulk", (0.09524, 0.2467, 0.5002, 0.7695, 0.9186, 0.9468)),
        (77477, "bulk", (0.1752, 0.39, 0.6397, 0.8005, 0.8681, 0.9136)),
        (30000, "bulk", (0.1064, 0.2843, 0.5752, 0.8365, 0.936, 0.9433)),
        (16288, "local", (0.07491, 0.198, 0.4282, 0.7112, 0.9039, 0.9158)),
    ],
)
def test_infinite_sample(sigma: float, reaction: Reaction, alpha: tuple[float, ...]) -> None:
    found = octave_means(thirds_alpha(flush(sigma), None, reaction=reaction))[0]
    assert found == pytest.approx(alpha, abs=0.005)


@pytest.mark.parametrize(
    ("sigma", "alpha"),
    [
        (16288, (0.1451, 0.4525, 0.7532, 0.8732, 0.9501, 0.959)),
        (77477, (0.2528, 0.6199, 0.8919, 0.9298, 0.9198, 0.9317)),
    ],
)
def test_finite_sample(sigma: float, alpha: tuple[float, ...]) -> None:
    assert octave_means(thirds_alpha(flush(sigma)))[0] == pytest.approx(alpha, abs=0.02)


@pytest.mark.parametrize(
    ("sample", "alpha"),
    [
        ((3.6, 3.0), (0.145, 0.453, 0.753, 0.873)),
        ((0.6, 2.4), (0.146, 0.525, 1.146, 1.210)),
    ],
)
def test_a_small_sample_by_two_quadratures(sample: tuple[float, float], alpha: tuple[float, ...]) -> None:
    """125 Hz to 1 kHz of 16288 Pa s/m2: polar and corner-map quadrature of it agree to 1e-10."""
    found = octave_means(thirds_alpha(flush(16288), sample))[0]
    assert found[:4] == pytest.approx(alpha, abs=0.002)


@pytest.mark.parametrize("degrees", [0, 30, 60])
def test_radiation_impedance_of_a_large_sample(degrees: float) -> None:
    theta = np.radians([degrees])
    found = radiation_impedance(2000.0, (20.0, 20.0), theta, np.array([0.4]))[0, 0]
    assert found == pytest.approx(1 / np.cos(theta[0]), rel=0.02)
