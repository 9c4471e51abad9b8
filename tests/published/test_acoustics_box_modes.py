"""Modes of box rooms. Sources: Rayleigh; Kuttruff, Room Acoustics; Morse and Ingard; Maa; Bolt.

Also Long, Architectural Acoustics 2e, table 8.1: the first six modes of a 7 x 5 x 3 m room at 344 m/s,
printed to 0.1 Hz; its rounding and its speed of sound leave 0.3 % (read in the transcribed reference data of
the open library phonometry).
"""

import math

import pytest

from estimator.acoustics.room import lowest, mode_hz, modes

BOX = (5.0, 4.0, 2.5)


def mode_count(size_m: tuple[float, float, float], to_hz: float, c: float = 343.0) -> float:
    """Return the smoothed number of modes: 4 pi/3 V (f/c)^3 + pi/4 S (f/c)^2 + L/8 (f/c), L all edges.

    Source: Kuttruff, Room Acoustics; Maa (1939); Bolt (1939).
    """
    x, y, z = size_m
    volume, area, edges = x * y * z, 2 * (x * y + y * z + x * z), 4 * (x + y + z)
    ratio = to_hz / c
    return 4 * math.pi / 3 * volume * ratio**3 + math.pi / 4 * area * ratio**2 + edges / 8 * ratio


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
    assert {m.order for m in modes(BOX, 70) if m.f_hz == pytest.approx(68.6)} == {(2, 0, 0), (0, 0, 1)}
    assert mode_hz(BOX, (2, 0, 0)) == pytest.approx(68.6, abs=1e-9)
    assert mode_hz(BOX, (0, 0, 1)) == pytest.approx(68.6, abs=1e-9)


def test_number_up_to_100_hz_and_its_smooth_estimate() -> None:
    assert len(modes(BOX, 100)) == 12
    assert mode_count(BOX, 100) == pytest.approx(12.54, abs=0.005)
    assert len(modes(BOX, 1000)) == pytest.approx(mode_count(BOX, 1000), rel=0.01)


@pytest.mark.parametrize("number", [1, 8, 40])
def test_the_lowest_are_the_first_of_all(number: int) -> None:
    assert lowest(BOX, number) == modes(BOX, 400)[:number]
    assert len(lowest(BOX, number)) == number


def test_long_table_8_1() -> None:
    first = [m.f_hz for m in modes((7.0, 5.0, 3.0), 61, c=344.0)]
    assert first[:6] == pytest.approx([24.6, 34.5, 42.4, 49.2, 57.4, 60.1], rel=0.004)
