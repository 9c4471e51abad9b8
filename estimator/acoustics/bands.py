"""The frequency bands of every acoustic figure: six octaves, and the three thirds in each.

Nothing below the 125 Hz octave (100 Hz third) is ever given: neither the porous model nor the published
tables reach there.
"""

from typing import TypeAlias

import numpy as np
import numpy.typing as npt

Six: TypeAlias = tuple[float, float, float, float, float, float]
Floats: TypeAlias = npt.NDArray[np.float64]
Complexes: TypeAlias = npt.NDArray[np.complex128]

OCTAVES_HZ = (125, 250, 500, 1000, 2000, 4000)
THIRDS_HZ = (
    100, 125, 160, 200, 250, 315, 400, 500, 630,
    800, 1000, 1250, 1600, 2000, 2500, 3150, 4000, 5000,
)  # fmt: skip
"""Nominal centres (ISO 266); the model is evaluated at octave x 2^(-1/3), octave, octave x 2^(1/3)."""

SPEED_OF_SOUND_M_S = 343.0
"""Speed of sound in air at 20 degrees C, rounded as usual. Source: Kuttruff, Room Acoustics."""
AIR_DENSITY_KG_M3 = 1.213
"""Density of air at 20 degrees C for which the porous models' examples are worked."""


def third_centres() -> Floats:
    """Return the 18 exact third-octave centres in Hz, lowest first, shape (18,)."""
    octaves = np.asarray(OCTAVES_HZ, dtype=np.float64)
    return np.asarray((octaves[:, None] * 2.0 ** (np.array([-1.0, 0.0, 1.0]) / 3)).ravel())


def octave_means(thirds: Floats) -> Floats:
    """Return the mean of the three thirds of each octave: shape (..., 18) -> (..., 6).

    Source: ISO 11654:1997, 4.1 (before rounding); ISO 354 reports thirds.
    """
    return np.asarray(thirds.reshape(*thirds.shape[:-1], 6, 3).mean(axis=-1))


def six(values: Floats | list[float] | tuple[float, ...]) -> Six:
    """Return six plain floats, one an octave.

    Raises:
        ValueError: not exactly six values.
    """
    a, b, c, d, e, f = (float(v) for v in values)
    return (a, b, c, d, e, f)
