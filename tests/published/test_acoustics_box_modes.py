"""Modes of box rooms. Sources: Rayleigh; Kuttruff, Room Acoustics; Morse and Ingard; Maa; Bolt.

Also Long, Architectural Acoustics 2e, table 8.1: the first six modes of a 7 x 5 x 3 m room at 344 m/s,
printed to 0.1 Hz; its rounding and its speed of sound leave 0.3 % (read in the transcribed reference data of
the open library phonometry).
"""

import pytest

from estimator.acoustics.modes import coincident, mode_count, mode_hz, modes

BOX = (5.0, 4.0, 2.5)


@pytest.mark.parametrize(
    ("order", "hz", "kind"),
    [
        ((1, 0, 0), 34.3, "axial"),
        ((0, 1, 0), 42.875, "axial"),
        ((1, 1, 0), 54.9075, "tangential"),
        ((1, 1, 1), 87.8689, "oblique"),
    ],
)
def test_frequencies(order: tuple[int, int, int], hz: float, kind: str) -> None:
    """The last value is own arithmetic: 343/2 x sqrt(1/25 + 1/16 + 1/6.25)."""
    assert mode_hz(BOX, order) == pytest.approx(hz, abs=0.01)
    assert next(m for m in modes(BOX, 100) if m.order == order).kind == kind


def test_coinciding_pair() -> None:
    assert {m.order for pair in coincident(modes(BOX, 70)) for m in pair} == {(2, 0, 0), (0, 0, 1)}
    assert mode_hz(BOX, (2, 0, 0)) == pytest.approx(68.6, abs=1e-9)
    assert mode_hz(BOX, (0, 0, 1)) == pytest.approx(68.6, abs=1e-9)


def test_number_up_to_100_hz_and_its_smooth_estimate() -> None:
    assert len(modes(BOX, 100)) == 12
    assert mode_count(BOX, 100) == pytest.approx(12.54, abs=0.005)
    assert mode_count(BOX, 200) == pytest.approx(67.571, abs=0.01)


def test_long_table_8_1() -> None:
    first = [m.f_hz for m in modes((7.0, 5.0, 3.0), 61, c=344.0)]
    assert first[:6] == pytest.approx([24.6, 34.5, 42.4, 49.2, 57.4, 60.1], rel=0.004)
