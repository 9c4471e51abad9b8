"""The frequency bands of every acoustic figure, and single-number ratings of an absorber.

Nothing below the 125 Hz octave (100 Hz third) is ever given: neither the porous model nor the published
tables reach there.

Everything is decided in whole hundredths taken from decimals, so a tie is a tie and goes up.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from estimator.core.money import decimal

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


REFERENCE = (80, 100, 100, 100, 90)
"""Reference curve, hundredths, octaves 250..4000 Hz. Source: ISO 11654:1997, table 1."""
UNFAVOURABLE = 10
INDICATOR_EXCESS = 25
CLASSES = ((90, "A"), (80, "B"), (60, "C"), (30, "D"), (15, "E"))
"""Least alpha_w, hundredths, of each class. Source: ISO 11654:1997, annex B (limits but A from memory)."""
NOT_CLASSIFIED = "not classified"


@dataclass(frozen=True, slots=True)
class Ratings:
    """Single numbers of one absorber.

    Attributes:
        nrc: noise reduction coefficient, of the octaves 250..2000 Hz.
        saa: sound absorption average of the 12 thirds 200..2500 Hz; None without thirds.
        alpha_p: practical coefficients, octaves 125..4000 Hz.
        alpha_w: weighted coefficient.
        indicators: shape indicators such as ``MH``; '' for none.
        absorption_class: A to E, or 'not classified'.
        basis: what they are of, in words to be printed with them.
    """

    nrc: Decimal
    saa: Decimal | None
    alpha_p: tuple[Decimal, ...]
    alpha_w: Decimal
    indicators: str
    absorption_class: str
    basis: str

    @property
    def weighted(self) -> str:
        """Return alpha_w as it is written, such as ``0.60(M)``."""
        shape = f"({self.indicators})" if self.indicators else ""
        return f"{self.alpha_w:.2f}{shape}"


def _mean(values: Sequence[float]) -> Decimal:
    return sum((decimal(v) for v in values), Decimal(0)) / len(values)


def _to_step(value: Decimal, step: str) -> Decimal:
    unit = Decimal(step)
    return (value / unit).quantize(Decimal(1), ROUND_HALF_UP) * unit


def nrc(four: Sequence[float]) -> Decimal:
    """Return the noise reduction coefficient of the values at 250, 500, 1000 and 2000 Hz.

    Source: ASTM C423: mean of the four to the nearest 0.05; a tie goes up (from memory).
    """
    return _to_step(_mean(four), "0.05")


def saa(thirds: Sequence[float]) -> Decimal:
    """Return the sound absorption average of the twelve thirds 200..2500 Hz, to 0.01.

    Source: ASTM C423.
    """
    return _to_step(_mean(thirds), "0.01")


def practical(thirds: Sequence[float]) -> Decimal:
    """Return the practical coefficient of an octave from its thirds (or from its own value alone).

    Source: ISO 11654:1997, 4.1: mean to two decimals, then in steps of 0.05, at most 1.00.
    """
    return min(_to_step(_to_step(_mean(thirds), "0.01"), "0.05"), Decimal("1.00"))


def weighted(alpha_p: Sequence[Decimal]) -> tuple[Decimal, str]:
    """Return the weighted coefficient and its shape indicators.

    The reference curve goes down in steps of 0.05 until the values short of it add up to 0.10 or less.

    Args:
        alpha_p: practical coefficients, octaves 250..4000 Hz.

    Source: ISO 11654:1997, 4.2 and 4.3.
    """
    have = [int(v * 100) for v in alpha_p]
    down = next(
        d
        for d in range(0, REFERENCE[1] + 5, 5)
        if sum(max(r - d - v, 0) for r, v in zip(REFERENCE, have, strict=True)) <= UNFAVOURABLE
    )
    over = [v - (r - d) >= INDICATOR_EXCESS for r, v, d in zip(REFERENCE, have, [down] * 5, strict=True)]
    shape = [(over[0], "L"), (over[1] or over[2], "M"), (over[3] or over[4], "H")]
    return Decimal(REFERENCE[1] - down) / 100, "".join(letter for yes, letter in shape if yes)


def absorption_class(alpha_w: Decimal) -> str:
    """Return the class A to E of a weighted coefficient. Source: ISO 11654:1997, annex B."""
    return next((name for least, name in CLASSES if alpha_w * 100 >= least), NOT_CLASSIFIED)


def rate(octaves: Six, thirds: Sequence[float] = ()) -> Ratings:
    """Return every rating of an absorber.

    Args:
        octaves: coefficients of the octaves 125..4000 Hz: the means of their thirds, or measured octaves.
        thirds: the 18 thirds 100..5000 Hz, or none.
    """
    parts = [thirds[i : i + 3] for i in range(0, 18, 3)] if thirds else [(v,) for v in octaves]
    alpha_p = tuple(practical(part) for part in parts)
    alpha_w, indicators = weighted(alpha_p[1:])
    span = slice(THIRDS_HZ.index(200), THIRDS_HZ.index(2500) + 1)
    basis = "NRC from octave values; SAA and alpha_w from thirds" if thirds else "all from octave values"
    return Ratings(
        nrc=nrc(octaves[1:5]),
        saa=saa(thirds[span]) if thirds else None,
        alpha_p=alpha_p,
        alpha_w=alpha_w,
        indicators=indicators,
        absorption_class=absorption_class(alpha_w),
        basis=basis,
    )


_SLOPE = (0.180, 0.090, 0.050, 0.040, 0.035, 0.030)
_FLOOR = (0.015, 0.015, 0.015, 0.015, 0.021, 0.040)
COVERAGE = 2.0


def reproducibility(alpha: Six) -> Six:
    """Return the expanded uncertainty (k = 2) of a measured coefficient per band 125..4000 Hz.

    U = 2 (m alpha + n), with m and n of the third octaves at the octaves' centres.

    Source: ISO 12999-2:2020, eq. 1, table 1 and 3 (read in a published copy).
    """
    return six([COVERAGE * (m * a + n) for m, a, n in zip(_SLOPE, alpha, _FLOOR, strict=True)])
