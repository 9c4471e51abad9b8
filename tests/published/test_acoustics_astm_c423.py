"""ASTM C423: noise reduction coefficient and sound absorption average.

NRC: mean of 250, 500, 1000, 2000 Hz to the nearest 0.05 (definition read in a published excerpt); ties go
up (from memory). SAA: mean of the twelve thirds 200..2500 Hz to 0.01, worked example of APMR printed 0.86.
"""

from decimal import Decimal

import pytest

from estimator.acoustics.ratings import nrc, rate, saa

ROCK_WOOL = (0.67, 0.89, 0.86, 1.04, 1.05, 1.01, 1.07, 0.67, 0.80, 0.76, 0.82, 0.71)


@pytest.mark.parametrize(
    ("four", "rating"),
    [
        ((0.22, 0.69, 0.91, 0.96), "0.70"),
        ((0.25, 0.74, 0.95, 0.97), "0.75"),
        ((0.625, 0.625, 0.625, 0.625), "0.65"),
        ((0.675, 0.675, 0.675, 0.675), "0.70"),
        ((0.60, 0.65, 0.60, 0.65), "0.65"),
    ],
)
def test_nrc(four: tuple[float, ...], rating: str) -> None:
    """The first two are Long's 25 mm boards of 48 and 96 kg/m3; the rest are ties, missed by floats."""
    assert nrc(four) == Decimal(rating)


def test_saa() -> None:
    assert saa(ROCK_WOOL) == Decimal("0.86")


def test_saa_takes_the_thirds_from_200_to_2500_hz() -> None:
    thirds = (9.0,) * 3 + ROCK_WOOL + (9.0,) * 3
    assert rate((0.5,) * 6, thirds).saa == Decimal("0.86")


def test_saa_needs_thirds() -> None:
    assert rate((0.5,) * 6).saa is None
