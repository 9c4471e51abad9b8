"""Everest and Pohlmann, Master Handbook of Acoustics 4th ed., fig. 7-22: an untreated room by Sabine.

23.3 x 16 x 10 ft, 3728 ft3; concrete floor 373 ft2, gypsum board 1159 ft2. The book works with 0.049 V / A in
feet and prints two decimals: 0.02 s. Read in the transcribed reference data of the open library phonometry.
"""

import pytest

from estimator.acoustics.reverberation import times
from estimator.acoustics.room import AXES, RoomModel, Surface

FT = 0.3048
FLOOR = (0.01, 0.01, 0.015, 0.02, 0.02, 0.02)
BOARD = (0.29, 0.10, 0.05, 0.04, 0.07, 0.09)
PRINTED = (0.54, 1.53, 2.87, 3.39, 2.06, 1.63)


def test_printed_times() -> None:
    surfaces = (
        Surface("floor", 373 * FT**2, FLOOR, AXES["z"]),
        Surface("walls and ceiling", 1159 * FT**2, BOARD, AXES["x"]),
    )
    room = RoomModel(3728 * FT**3, surfaces, air=False)
    assert times(room)["sabine"] == pytest.approx(PRINTED, abs=0.02)
