"""The smallest area of treatment that meets a target, and on which walls, by each formula.

The areas are sought by sequential quadratic programming from several starts; walls that can be left bare at
hardly more area are left bare. The answer is the least area found, not a proof. More treatment is not always
better: a board wall absorbs more at 125 Hz than a thin panel put over it.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np

from estimator.acoustics.ratings import OCTAVES_HZ, Floats, Six, six
from estimator.acoustics.reverberation import RANGE, TIME_BY, Formula, RoomArrays, room_arrays, schroeder_hz
from estimator.acoustics.room import Patch, RoomModel, check_room, treat
from estimator.acoustics.targets import Target

STARTS = (1.0, 0.6, 0.3)
FEWER_WALLS_COST = 1.01
"""A wall is left bare where that costs at most this factor in area."""
SETTLED_M2 = 1e-3
SETTLED = 1e-6
NEXT_M2 = 0.01


_Limits: TypeAlias = tuple[tuple[tuple[int, float], ...], tuple[int, ...]]


@dataclass(frozen=True, slots=True)
class Offer:
    """Treatment that may go on a surface: at most `most_m2` of it, absorbing `alpha`."""

    on: str
    most_m2: float
    alpha: Six


@dataclass(frozen=True, slots=True)
class Smallest:
    """The least area found by one formula.

    Attributes:
        met: whether areas were found that meet the target; else `areas` is everything offered.
        above_hz: octaves that stay above their limit where it is not met.
        total_m2: sum of `areas`.
        areas: (surface, m2) for every surface to be treated, rounded up to 0.01 m2.
        times_s: the time per octave with it, s.
    """

    formula: Formula
    met: bool
    total_m2: float
    areas: tuple[tuple[str, float], ...]
    times_s: Six
    above_hz: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class _AreaSearch:
    """A room with offers as arrays, and what is asked of it: excess over the limits as lg ratios, <= 0."""

    bare: RoomArrays
    moves: Floats
    most: Floats
    formula: Formula
    limits: tuple[tuple[int, float], ...]
    mean: tuple[tuple[int, ...], float] | None

    def times(self, areas: Floats) -> Floats:
        return TIME_BY[self.formula](replace(self.bare, area=self.bare.area + self.moves @ areas))

    def excess(self, areas: Floats) -> Floats:
        now = self.times(areas)
        ratios = [now[i] / limit for i, limit in self.limits]
        if self.mean:
            ratios.append(now[list(self.mean[0])].mean() / self.mean[1])
        return np.log(np.asarray(ratios, dtype=np.float64))

    def met(self, areas: Floats) -> bool:
        return bool(np.all(self.excess(areas) <= SETTLED))


def _limits(target: Target, volume_m3: float, from_hz: int) -> _Limits:
    """Octaves to be judged: not below the Schroeder frequency of the time aimed at."""
    lowest = max(schroeder_hz(target.time_s, volume_m3), from_hz)
    judged = [i for i, hz in enumerate(OCTAVES_HZ) if hz >= lowest]
    limits = [(i, target.high_s[i]) for i in judged]
    mean = tuple(i for i in judged if OCTAVES_HZ[i] in target.mean_hz)
    return tuple((i, high) for i, high in limits if high is not None), mean


def _search(
    room: RoomModel, offers: Sequence[Offer], formula: Formula, limits: _Limits, time_s: float
) -> _AreaSearch:
    patches = [Patch(f"offer {i} on {o.on}", o.on, 0.0, o.alpha) for i, o in enumerate(offers)]
    names = [s.name for s in room.surfaces]
    moves = np.zeros((len(names) + len(offers), len(offers)))
    for i, offer in enumerate(offers):
        moves[names.index(offer.on), i] -= 1.0
        moves[len(names) + i, i] = 1.0
    octaves, mean = limits
    return _AreaSearch(
        bare=room_arrays(treat(room, patches)),
        moves=moves,
        most=np.array([o.most_m2 for o in offers], dtype=np.float64),
        formula=formula,
        limits=octaves,
        mean=(mean, time_s) if mean else None,
    )


def _feasible(search: _AreaSearch, areas: Floats, open_to: Floats) -> Floats:
    """The nearest areas on the way to everything offered that meet the target."""
    low, high = 0.0, 1.0
    for _ in range(60):
        middle = (low + high) / 2
        met = search.met(areas + middle * (open_to - areas))
        low, high = (low, middle) if met else (middle, high)
    return np.asarray(areas + high * (open_to - areas))


def _minimise(search: _AreaSearch, open_to: Floats, start: float) -> Floats | None:
    from scipy.optimize import NonlinearConstraint, minimize  # noqa: PLC0415 - only this function needs it

    scale = float(open_to.sum())

    over = NonlinearConstraint(lambda x: search.excess(x * scale), -np.inf, 0.0)
    found = minimize(
        np.sum,
        np.asarray(start * open_to / scale),
        method="SLSQP",
        bounds=[(0.0, float(most) / scale) for most in open_to],
        constraints=[over],
        options={"maxiter": 200, "ftol": 1e-10},
    )
    areas = np.clip(np.asarray(found.x, dtype=np.float64) * scale, 0.0, open_to)
    if search.met(areas):
        return areas
    return _feasible(search, areas, open_to) if search.met(open_to) else None


def _least(search: _AreaSearch, open_to: Floats) -> Floats | None:
    """The least areas within `open_to` that were found, None where none does."""
    tries = [_minimise(search, open_to, start) for start in STARTS]
    return min((t for t in tries if t is not None), key=lambda areas: float(areas.sum()), default=None)


def _fewer_walls(search: _AreaSearch, areas: Floats) -> Floats:
    """The same with walls left bare, least first, where that costs hardly any area."""
    best, allowed = areas, max(float(areas.sum()) * FEWER_WALLS_COST, SETTLED_M2)
    open_to = search.most.copy()
    for i in np.argsort(areas, kind="stable"):
        without = open_to.copy()
        without[i] = 0.0
        found = _least(search, without) if without.sum() > 0 else None
        if found is not None and float(found.sum()) <= allowed:
            best, open_to = found, without
    return best


def _answer(search: _AreaSearch, offers: Sequence[Offer], areas: Floats, *, met: bool) -> Smallest:
    up = np.minimum(np.ceil((areas - SETTLED_M2 / 10) / NEXT_M2) * NEXT_M2, search.most)
    kept = [(o.on, round(float(a), 4)) for o, a in zip(offers, up, strict=True) if a > 0]
    total = round(sum(a for _, a in kept), 4)
    now = search.times(up)
    above = () if met else tuple(OCTAVES_HZ[i] for i, limit in search.limits if now[i] > limit)
    return Smallest(search.formula, met, total, tuple(kept), six(now), above)


def _by(search: _AreaSearch, offers: Sequence[Offer]) -> Smallest:
    nothing = np.zeros(len(offers))
    if search.met(nothing):
        return _answer(search, offers, nothing, met=True)
    least = _least(search, search.most)
    if least is None:
        return _answer(search, offers, search.most, met=False)
    return _answer(search, offers, _fewer_walls(search, least), met=True)


def smallest_area(
    room: RoomModel, offers: Sequence[Offer], target: Target, from_hz: int = 125
) -> tuple[Smallest, ...]:
    """Return the least treated area that meets a target, by each formula of the range.

    Only the greatest times a target allows are asked for: a smaller area can leave no octave too dry that a
    larger one would not. Octaves below the Schroeder frequency of the time aimed at are not asked for.

    Args:
        room: the room as it is.
        offers: what may be put where; each surface once.
        target: what to aim at.
        from_hz: lowest octave that is asked for; a thin panel cannot mend 125 Hz.

    Raises:
        InputError: a room that cannot be, an offer on no surface, or one larger than its surface.
    """
    check_room(room)
    treat(room, [Patch(f"offer on {o.on}", o.on, o.most_m2, o.alpha) for o in offers])
    limits = _limits(target, room.volume_m3, from_hz)
    return tuple(_by(_search(room, offers, f, limits, target.time_s), offers) for f in RANGE)
