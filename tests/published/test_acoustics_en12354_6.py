"""EN 12354-6:2003, annex E, case 1: a bare room of 29.75 m3 at 1 kHz: A = 2.26 m2, T = 2.1 s.

Read in the transcribed reference data of the open library phonometry.
"""

import pytest

from estimator.acoustics.reverberation import reverberation
from estimator.acoustics.room import AXES, RoomModel, Surface

SURFACES = (
    ("floor", 12.39, 0.05, "z"), ("ceiling", 12.39, 0.02, "z"), ("long wall", 10.90, 0.04, "x"),
    ("long wall 2", 10.90, 0.04, "x"), ("side wall", 6.55, 0.04, "y"), ("glass", 6.55, 0.04, "y"),
)  # fmt: skip


def test_absorption_area_and_time() -> None:
    surfaces = tuple(Surface(n, s, (a, a, a, a, a, a), AXES[axis]) for n, s, a, axis in SURFACES)
    found = reverberation(RoomModel(29.75, surfaces, air=False))
    assert found.absorption_m2[3] == pytest.approx(2.26, abs=0.005)
    assert found.times_s["sabine"][3] == pytest.approx(2.1, abs=0.05)
