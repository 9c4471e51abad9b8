"""Schroeder and Kuttruff, J. Acoust. Soc. Am. 34 (1962): 2000 sqrt(T / V). Formula from memory."""

import pytest

from estimator.acoustics.reverberation import schroeder_hz


def test_limit_between_modes_and_reverberation() -> None:
    assert schroeder_hz(0.3, 50) == pytest.approx(154.919, abs=0.01)
