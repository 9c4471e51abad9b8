"""Long, Architectural Acoustics 2e, table 7.1 prints 1.21: ln(1 - alpha) must not see such a row."""

import math

import pytest

from estimator.acoustics.reverberation import CAP, reverberation, times
from estimator.acoustics.room import AXES, RoomModel, Surface


def test_it_is_capped_and_said() -> None:
    hard = (0.02,) * 6
    surfaces = tuple(Surface(n, s, hard, AXES[a]) for n, s, a in (("walls", 60, "x"), ("floor", 25, "z")))
    board = Surface("board", 25.0, (0.22, 0.82, 1.21, 1.10, 1.02, 1.05), AXES["y"])
    room = RoomModel(60.0, (*surfaces, board), air=False)
    assert CAP == 0.99
    assert all(math.isfinite(t) and t > 0 for row in times(room).values() for t in row)
    assert any("board" in p.what and "0.99" in p.what for p in reverberation(room).problems)


def test_sabine_keeps_the_measured_value() -> None:
    """A coefficient above 1 was measured with Sabine's formula and belongs in it as it is."""
    board = Surface("board", 25.0, (1.21,) * 6, AXES["y"])
    found = reverberation(RoomModel(60.0, (board,), air=False))
    assert found.absorption_m2[0] == pytest.approx(1.21 * 25)
