"""The reverberation time to aim at, and whether a range of estimates meets it.

A target is something to aim at; meeting it here is an estimate and states no compliance with anything.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

from estimator.acoustics.ratings import OCTAVES_HZ
from estimator.acoustics.reverberation import RANGE, Formula, Reverberation, Stated
from estimator.catalogue.references import MaskPoint, References, TargetRow
from estimator.core.errors import refuse
from estimator.core.sources import Source

Word: TypeAlias = Literal["met by every formula", "met by some formulas", "not met"]

REFERENCE_M3 = 100.0
OWN_MEAN_HZ = (500, 1000)
"""Octaves whose mean an own figure is for. Source: ISO 3382-2, T_mid (from memory)."""


@dataclass(frozen=True, slots=True)
class Target:
    """A reverberation time to aim at in one room.

    Attributes:
        key, description: what it is for.
        time_s: nominal time, s.
        low_s, high_s: limits per octave 125..4000 Hz, s; None for none.
        mean_hz: octaves whose mean must not pass `time_s`; empty for none.
        source: of the nominal time.
        mask_source: of the limits, None for none.
    """

    key: str
    description: str
    time_s: float
    low_s: Stated
    high_s: Stated
    mean_hz: tuple[int, ...]
    source: Source
    mask_source: Source | None = None


@dataclass(frozen=True, slots=True)
class TargetVerdict:
    """Whether estimates meet a target.

    An octave under the Schroeder frequency is not judged, nor counted in a mean.

    Attributes:
        word: overall, over the formulas of the range.
        met_by: the formulas that meet it.
        octaves: per octave the range's word: 'above' if its greatest is above the limit, else 'below' if its
            least is below, else 'within'; '' where it is not judged.
        mean_low_s: least mean; None where the target has none.
    """

    word: Word
    met_by: tuple[Formula, ...]
    octaves: tuple[str, ...]
    mean_low_s: float | None


def _nominal(row: TargetRow, volume_m3: float) -> float:
    if row.law == "cube-root":
        return row.a * math.cbrt(volume_m3 / REFERENCE_M3)
    if row.law == "log":
        return row.a * math.log10(volume_m3) + row.b
    return row.a


def _between(points: Sequence[MaskPoint], values: Stated, hz: float) -> float | None:
    """Straight between two points over lg f; None outside them or where either has no limit."""
    for p, q, low, high in zip(points, points[1:], values, values[1:], strict=False):
        if p.hz <= hz <= q.hz and low is not None and high is not None:
            return low + (high - low) * math.log(hz / p.hz) / math.log(q.hz / p.hz)
    return None


def _limit(points: Sequence[MaskPoint], values: Stated, hz: float, time_s: float) -> float | None:
    value = _between(points, values, hz)
    if value is None:
        return None
    return {"add": time_s + value, "factor": time_s * value, "limit": value}[points[0].kind]


def mask_limits(points: Sequence[MaskPoint], time_s: float, hz: float) -> tuple[float | None, float | None]:
    """Return the least and greatest time a mask allows at a frequency, s; None for no limit."""
    low = _limit(points, tuple(p.low for p in points), hz, time_s)
    return low, _limit(points, tuple(p.high for p in points), hz, time_s)


def _target(row: TargetRow, points: Sequence[MaskPoint], volume_m3: float) -> Target:
    time_s = _nominal(row, volume_m3)
    limits = [mask_limits(points, time_s, hz) for hz in OCTAVES_HZ]
    return Target(
        key=row.key,
        description=row.description,
        time_s=time_s,
        low_s=tuple(low for low, _ in limits),
        high_s=tuple(high for _, high in limits),
        mean_hz=row.mean_hz,
        source=row.source,
        mask_source=points[0].source if points else None,
    )


def target_for(use: str, volume_m3: float, tables: References) -> Target | None:
    """Return the time to aim at for a use and volume, None where no public figure is held for it.

    Args:
        use: a room's use, or another key of the table such as ``classroom-uk-primary``.
        volume_m3: the room's volume, m3.
        tables: holds the public figures.

    Raises:
        InputError: a volume that is not above 0.
    """
    if not volume_m3 > 0:
        raise refuse("room.volume", f"{volume_m3:g} m3 is not a volume", "Give more than 0.")
    rows = [r for r in tables.targets if r.key == use and r.above_m3 < volume_m3 <= r.to_m3]
    return _target(rows[0], tables.masks.get(rows[0].mask, ()), volume_m3) if rows else None


def own_target(time_s: float) -> Target:
    """Return the user's own figure as a target for the mean of the 500 and 1000 Hz octaves.

    Raises:
        InputError: a time that is not above 0.
    """
    if not 0 < time_s < float("inf"):
        raise refuse("room.target_s", f"{time_s:g} s is not a time", "Give more than 0.")
    none: Stated = (None,) * len(OCTAVES_HZ)
    source = Source("the client's own figure", "as given")
    return Target("own", "The client's own figure", time_s, none, none, OWN_MEAN_HZ, source)


def _mean(target: Target, times_s: Stated) -> float | None:
    """Return the mean of the octaves that the target's figure is for, as far as they are stated."""
    stated = [t for hz, t in zip(OCTAVES_HZ, times_s, strict=True) if hz in target.mean_hz and t is not None]
    return sum(stated) / len(stated) if stated else None


def _octave(low: float | None, high: float | None, least_s: float | None, most_s: float | None) -> str:
    if least_s is None or most_s is None or (low is None and high is None):
        return ""
    if high is not None and most_s > high:
        return "above"
    return "below" if low is not None and least_s < low else "within"


def _octaves(target: Target, least_s: Stated, most_s: Stated) -> tuple[str, ...]:
    return tuple(map(_octave, target.low_s, target.high_s, least_s, most_s))


def meets(target: Target, times_s: Stated) -> bool:
    """Return whether one set of times meets a target in every octave that is stated."""
    mean = _mean(target, times_s)
    return set(_octaves(target, times_s, times_s)) <= {"", "within"} and (mean or 0) <= target.time_s


def judge(target: Target, estimate: Reverberation) -> TargetVerdict:
    """Return whether a room's estimated times meet a target, by each formula of its range."""
    met = tuple(f for f in RANGE if meets(target, estimate.times_s[f]))
    means = (_mean(target, estimate.times_s[f]) for f in RANGE)
    return TargetVerdict(
        word="met by every formula" if met == RANGE else "met by some formulas" if met else "not met",
        met_by=met,
        octaves=_octaves(target, estimate.low_s, estimate.high_s),
        mean_low_s=min((m for m in means if m is not None), default=None),
    )
