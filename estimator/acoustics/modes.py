"""Modes of a box-shaped room, as frequencies only: no absorption or level is stated for them."""

import math
from dataclasses import dataclass
from itertools import pairwise, product

from estimator.acoustics.bands import SPEED_OF_SOUND_M_S

KINDS = {1: "axial", 2: "tangential", 3: "oblique"}
SAME_HZ = 1e-6


@dataclass(frozen=True, slots=True, order=True)
class Mode:
    """One mode: its frequency in Hz, and half-waves along x, y, z."""

    f_hz: float
    order: tuple[int, int, int]

    @property
    def kind(self) -> str:
        """Return 'axial', 'tangential' or 'oblique'."""
        return KINDS[sum(n > 0 for n in self.order)]


def mode_hz(
    size_m: tuple[float, float, float], order: tuple[int, int, int], c: float = SPEED_OF_SOUND_M_S
) -> float:
    """Return c/2 x sqrt(sum (n/L)^2), Hz. Source: Rayleigh; Kuttruff, Room Acoustics."""
    return c / 2 * math.hypot(*(n / length for n, length in zip(order, size_m, strict=True)))


def modes(
    size_m: tuple[float, float, float], to_hz: float, c: float = SPEED_OF_SOUND_M_S
) -> tuple[Mode, ...]:
    """Return every mode of a box up to a frequency, lowest first."""
    counts = [range(int(2 * to_hz * length / c) + 1) for length in size_m]
    found = [Mode(mode_hz(size_m, (i, j, k), c), (i, j, k)) for i, j, k in product(*counts) if i + j + k]
    return tuple(sorted(m for m in found if m.f_hz <= to_hz))


def coincident(found: tuple[Mode, ...]) -> tuple[tuple[Mode, Mode], ...]:
    """Return neighbouring modes that fall on one frequency."""
    return tuple((a, b) for a, b in pairwise(found) if b.f_hz - a.f_hz < SAME_HZ)


def mode_count(size_m: tuple[float, float, float], to_hz: float, c: float = SPEED_OF_SOUND_M_S) -> float:
    """Return the smoothed number of modes up to a frequency.

    N = 4 pi/3 V (f/c)^3 + pi/4 S (f/c)^2 + L/8 (f/c), L the sum of all edges.

    Source: Kuttruff, Room Acoustics; Maa (1939); Bolt (1939).
    """
    x, y, z = size_m
    volume, area, edges = x * y * z, 2 * (x * y + y * z + x * z), 4 * (x + y + z)
    ratio = to_hz / c
    return 4 * math.pi / 3 * volume * ratio**3 + math.pi / 4 * area * ratio**2 + edges / 8 * ratio
