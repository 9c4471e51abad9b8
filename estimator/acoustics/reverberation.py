"""Reverberation time by the diffuse-field formulas and by those for uneven absorption, as a range.

No formula is right for a room treated on some walls only; they are always shown together. Bodies in the
room add their absorption area to every formula's, as air does.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal, TypeAlias, TypeVar

import numpy as np

from estimator.acoustics.ratings import OCTAVES_HZ, Floats, Six, six
from estimator.acoustics.room import RoomModel, check_room
from estimator.calc.expressions import Expr
from estimator.core.errors import Problem, refuse

Formula: TypeAlias = Literal["sabine", "eyring", "millington", "fitzroy", "arau-puchades"]
Stated: TypeAlias = tuple[float | None, ...]
NAMES: dict[Formula, str] = {
    "sabine": "Sabine",
    "eyring": "Eyring",
    "millington": "Millington",
    "fitzroy": "Fitzroy",
    "arau-puchades": "Arau-Puchades",
}
FORMULAS = tuple(NAMES)
RANGE: tuple[Formula, ...] = ("sabine", "eyring", "fitzroy", "arau-puchades")
"""The formulas whose least and greatest are shown as the range; Millington breaks down at alpha near 1."""

CAP = 0.99
"""Coefficients above this are taken as this where ln(1 - alpha) is needed."""
SCHROEDER_FACTOR = 2000.0
MID_OCTAVES = (2, 3)


@dataclass(frozen=True, slots=True)
class Reverberation:
    """Estimated reverberation times of a room, per octave 125..4000 Hz; None where none may be stated.

    Attributes:
        times_s: per formula, s.
        low_s, high_s: least and greatest over `RANGE`, s.
        absorption_m2: equivalent absorption area (Sabine), air and bodies with it.
        schroeder_hz: frequency below which single modes, and no reverberation, are heard; of the
            longest mid-frequency time in `RANGE`. No time is stated for an octave whose centre is below it.
        problems: what was capped or left out.
    """

    times_s: dict[Formula, Stated]
    low_s: Stated
    high_s: Stated
    absorption_m2: Six
    schroeder_hz: float
    problems: tuple[Problem, ...] = ()


@dataclass(frozen=True, slots=True)
class RoomArrays:
    """A room as arrays: areas (N,), coefficients (N, 6), shares (N, 3), absorption of air and bodies (6,)."""

    k_volume: Floats
    area: Floats
    alpha: Floats
    shares: Floats
    extra: Floats

    @property
    def exponent(self) -> Floats:
        """Return -ln(1 - alpha) per surface and octave, alpha capped."""
        return np.asarray(-np.log(1 - np.minimum(self.alpha, CAP)))

    def groups(self) -> tuple[Floats, Floats]:
        """Return the areas of x, y, z (3,), and their mean coefficients, capped, (3, 6)."""
        split = self.area[:, None] * self.shares
        areas = split.sum(axis=0)
        absorbed = split.T @ np.minimum(self.alpha, CAP)
        return np.asarray(areas), absorbed / np.where(areas > 0, areas, 1.0)[:, None]


def room_arrays(room: RoomModel) -> RoomArrays:
    """Return a room as arrays, its surfaces in their order; not checked."""
    bodies = np.array([b.absorption_m2 for b in room.bodies]).reshape(-1, 6).sum(axis=0)
    return RoomArrays(
        k_volume=np.asarray(24 * np.log(10) / room.speed_m_s * room.volume_m3),
        area=np.array([s.area_m2 for s in room.surfaces], dtype=np.float64),
        alpha=np.array([s.alpha for s in room.surfaces], dtype=np.float64),
        shares=np.array([s.shares for s in room.surfaces], dtype=np.float64),
        extra=4 * room.volume_m3 * np.array(room.attenuation) + bodies,
    )


Amount = TypeVar("Amount", Floats, Expr)
"""Arrays of numbers, or expressions of the workbook: each formula is written once for both."""


def sabine_time(k_volume: Amount, absorbed: Amount, extra: Amount) -> Amount:
    """Return ``k V / (A + extra)``, s. Source: Sabine (1922)."""
    return k_volume / (absorbed + extra)


def eyring_time(
    k_volume: Amount, total: Amount, mean: Amount, extra: Amount, ln: Callable[[Amount], Amount]
) -> Amount:
    """Return ``k V / (extra - S ln(1 - mean))``, s. Source: Eyring, J. Acoust. Soc. Am. 1 (1930)."""
    return k_volume / (extra - total * ln(1 - mean))


def _sabine(a: RoomArrays) -> Floats:
    return sabine_time(a.k_volume, a.area @ a.alpha, a.extra)


def _eyring(a: RoomArrays) -> Floats:
    total = a.area.sum()
    return eyring_time(a.k_volume, total, a.area @ np.minimum(a.alpha, CAP) / total, a.extra, np.log)


def _millington(a: RoomArrays) -> Floats:
    return sabine_time(a.k_volume, a.area @ a.exponent, a.extra)


def _directional(a: RoomArrays) -> tuple[Floats, Floats]:
    """Each direction's share of the boundary (G,) and its time alone (G, 6), for directions with area."""
    areas, means = a.groups()
    kept = areas > 0
    total = areas.sum()
    times = eyring_time(a.k_volume, total, means[kept], a.extra, np.log)
    return areas[kept] / total, times


def _fitzroy(a: RoomArrays) -> Floats:
    share, times = _directional(a)
    return share @ times


def _arau(a: RoomArrays) -> Floats:
    share, times = _directional(a)
    return np.asarray(np.exp(share @ np.log(times)))


TIME_BY: dict[Formula, Callable[[RoomArrays], Floats]] = {
    "sabine": _sabine,
    "eyring": _eyring,
    "millington": _millington,
    "fitzroy": _fitzroy,
    "arau-puchades": _arau,
}
"""The reverberation time by each formula, s, per octave (6,); the room is not checked."""


def times(room: RoomModel) -> dict[Formula, Six]:
    """Return the reverberation time per formula and octave, s.

    T = k V / A with k = 24 ln 10 / c and A = sum(S alpha) (Sabine), -S ln(1 - mean alpha) (Eyring),
    -sum(S ln(1 - alpha)) (Millington); Fitzroy adds, and Arau-Puchades multiplies, the Eyring times of the
    three directions, weighted by their share of the boundary. Air adds 4 m V to A, bodies their area.

    Raises:
        InputError: a room that cannot be, or one in which nothing absorbs in some direction.

    Source: Sabine (1922); Eyring, J. Acoust. Soc. Am. 1 (1930); Millington, ibid. 4 (1932); Fitzroy, ibid.
        31 (1959); Arau-Puchades, Acustica 65 (1988), eq. 18.
    """
    check_room(room)
    arrays = room_arrays(room)
    areas, means = arrays.groups()
    if not np.all(means[areas > 0] + arrays.extra > 0):
        what = "nothing absorbs in some direction and octave"
        raise refuse("room", what, "No real surface absorbs nothing.")
    return {name: six(TIME_BY[name](arrays)) for name in FORMULAS}


def schroeder_hz(time_s: float, volume_m3: float) -> float:
    """Return 2000 sqrt(T / V), Hz. Source: Schroeder and Kuttruff, J. Acoust. Soc. Am. 34 (1962)."""
    return SCHROEDER_FACTOR * float(np.sqrt(time_s / volume_m3))


def _capped(room: RoomModel) -> list[Problem]:
    names = [s.name for s in room.surfaces if max(s.alpha) > CAP and s.area_m2 > 0]
    if not names:
        return []
    what = f"absorption above {CAP} ({', '.join(names)}) was taken as {CAP} in every formula but Sabine's"
    fix = "Measured coefficients may pass 1; ln(1 - alpha) may not."
    return [Problem("reverberation", what, fix, severity="warning")]


def _hidden(limit_hz: float) -> list[Problem]:
    names = [f"{hz} Hz" for hz in OCTAVES_HZ if hz < limit_hz]
    if not names:
        return []
    below = f"below the Schroeder frequency, {np.ceil(limit_hz):.0f} Hz"
    what = f"no reverberation is stated for {', '.join(names)}: {below}"
    return [Problem("reverberation", what, "The room's modes rule there.", severity="warning")]


def reverberation(room: RoomModel) -> Reverberation:
    """Return the room's estimated reverberation, by every formula and as a range.

    Raises:
        InputError: a room that cannot be.
    """
    by_formula = times(room)
    spread = np.array([by_formula[name] for name in RANGE])
    limit = schroeder_hz(float(spread[:, MID_OCTAVES].mean(axis=1).max()), room.volume_m3)
    arrays = room_arrays(room)

    def stated(values: Floats | Six) -> Stated:
        return tuple(v if hz >= limit else None for hz, v in zip(OCTAVES_HZ, six(values), strict=True))

    return Reverberation(
        times_s={name: stated(found) for name, found in by_formula.items()},
        low_s=stated(spread.min(axis=0)),
        high_s=stated(spread.max(axis=0)),
        absorption_m2=six(arrays.area @ arrays.alpha + arrays.extra),
        schroeder_hz=limit,
        problems=(*_capped(room), *_hidden(limit)),
    )
