"""Modes of a box-shaped room, as frequencies only: no absorption or level is stated for them."""

import math
from dataclasses import dataclass
from itertools import product

from estimator.acoustics.bands import SPEED_OF_SOUND_M_S

KINDS = {1: "axial", 2: "tangential", 3: "oblique"}


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


def lowest(
    size_m: tuple[float, float, float], number: int, c: float = SPEED_OF_SOUND_M_S
) -> tuple[Mode, ...]:
    """Return the lowest modes of a box, as many as are asked for, lowest first.

    Args:
        size_m: length, width and height, m.
        number: how many.
        c: speed of sound, m/s.
    """
    to_hz = c / 2 * sum(1 / length for length in size_m)
    while len(found := modes(size_m, to_hz, c)) < number:
        to_hz *= 2
    return found[:number]
