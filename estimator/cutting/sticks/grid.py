"""Weights as small as can be that let the same pieces share a stick: tables over capacities stay short.

A kerf in inches between pieces in millimetres leaves a common unit of a few micrometres and tables of
hundreds of thousands of cells. Few pieces share a stick, so a coarser kerf often decides every case alike.
"""

import math
from collections.abc import Sequence
from itertools import accumulate, chain, islice, repeat

from estimator.core.units import Nm

_FINEST = 40
"""Finest divisions of a step tried for the kerf: 1/40 mm in 1 mm."""
_MOST_ON_A_STICK = 300
"""Pieces on a stick up to which a coarser kerf is looked for."""


def _by_unit(lengths: Sequence[Nm], kerf: Nm, rooms: Sequence[Nm]) -> tuple[list[int], list[int]]:
    unit = math.gcd(*(length + kerf for length in lengths))
    return [(length + kerf) // unit for length in lengths], [max(0, room + kerf) // unit for room in rooms]


def _most_of_each(lightest: Sequence[int], step: Nm, kerf: Nm, room: Nm) -> list[int]:
    """Return the most that 1, 2, ... pieces may be long together, in steps, as far as pieces fit."""
    tops = [(room - kerf * at) // step for at in range(len(lightest))]
    fit = sum(1 for least, top in zip(lightest, tops, strict=True) if least <= top)
    return tops[:fit]


def _capacity(lightest: Sequence[int], tops: Sequence[int], fine: int, cut: int) -> int | None:
    """Return the capacity at which weights of `fine` x steps + `cut` fit just where they do in truth."""
    low = max((fine * top + cut * n for n, top in enumerate(tops, 1)), default=0)
    high = min((fine * top + cut * n for n, top in enumerate(tops, 1)), default=low) + fine - 1
    if len(tops) < len(lightest):
        high = min(high, fine * lightest[len(tops)] + cut * (len(tops) + 1) - 1)
    return low if low <= high else None


def shortened(
    lengths: Sequence[Nm], demand: Sequence[int], kerf: Nm, rooms: Sequence[Nm]
) -> tuple[list[int], list[int]]:
    """Return a weight for each piece and a capacity for each stick.

    Pieces fit a stick by these if and only if they do by lengths and kerfs.

    Args:
        lengths: the different lengths, longest first.
        demand: pieces wanted of each.
        kerf: lies between two pieces.
        rooms: usable length of each stick.
    """
    weights, capacities = _by_unit(lengths, kerf, rooms)
    step = math.gcd(*lengths)
    shortest = chain.from_iterable(
        repeat(at // step, n) for at, n in zip(lengths[::-1], demand[::-1], strict=True)
    )
    lightest = list(accumulate(islice(shortest, _MOST_ON_A_STICK)))
    tops = [_most_of_each(lightest, step, kerf, room) for room in rooms]
    if any(len(top) == _MOST_ON_A_STICK for top in tops):
        return weights, capacities
    for fine in range(1, _FINEST):
        for cut in (fine * kerf // step, fine * kerf // step + 1):
            found = [_capacity(lightest, top, fine, cut) for top in tops]
            smaller = [room for room in found if room is not None]
            if len(smaller) == len(found) and max(smaller) < max(capacities):
                return [fine * (length // step) + cut for length in lengths], smaller
    return weights, capacities
