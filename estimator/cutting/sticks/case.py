"""A stick job as whole numbers: what the solver works on, free of names, units and kerf.

A kerf joins every piece (`weight` = piece + kerf) and every stick (`room` = usable length + kerf), which is
the same as one cut fewer than pieces. Weights are as small as can be that let the same pieces share a stick:
a kerf in inches between pieces in millimetres leaves a common unit of a few micrometres and tables of
hundreds of thousands of cells. Few pieces share a stick, so a coarser kerf often decides every case alike.
"""

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import cached_property
from itertools import accumulate, chain, islice, repeat
from typing import NamedTuple, TypeAlias

import numpy as np

from estimator.core.units import Nm
from estimator.cutting.knapsack import Whole
from estimator.cutting.plans import StickStock

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


_MOST_CELLS = 100_000
"""Cells of a table over the room of a stick: 1/40 mm of 8 ft."""
_FEWEST_CELLS = 1_000
"""Cells that a table has at least: a thousandth of a stick."""
_ENTRIES = 12_000_000
"""Entries of a whole table: some hundredths of a second."""


class Pattern(NamedTuple):
    """One way to cut a stick: the stock it is cut from, and (item, how many) by rising item."""

    stock: int
    counts: tuple[tuple[int, int], ...]


Cut: TypeAlias = Counter[Pattern]
"""How often each pattern is cut."""


@dataclass(frozen=True)
class Case:
    """The job in whole numbers.

    Attributes:
        lengths: the different piece lengths, longest first; an item is an index into them.
        weights: (length + kerf) in units, shortened.
        demand: pieces wanted of each length.
        rooms: (usable length + kerf) in units of each stock, rounded down.
        costs: price of each stock in `money`.
        limits: how many of each stock can be had; None for as many as wanted.
        money: what one unit of cost is worth.
        imaginary: index of a stock that cannot be bought, added where limits could make the job
            impossible; it costs more than everything else together. None where it is not needed.
    """

    lengths: tuple[Nm, ...]
    weights: tuple[int, ...]
    demand: tuple[int, ...]
    rooms: tuple[int, ...]
    costs: tuple[int, ...]
    limits: tuple[int | None, ...]
    money: Decimal
    imaginary: int | None

    @cached_property
    def cell(self) -> int:
        """Return the width of a cell of the tables over rooms: 1 where they are exact."""
        cells = max(_FEWEST_CELLS, min(_MOST_CELLS, _ENTRIES // len(self.weights)))
        return -(-max(self.rooms) // cells)

    @cached_property
    def heavy(self) -> Whole:
        """Return the weights as an array."""
        return np.array(self.weights, np.int64)

    @cached_property
    def thin(self) -> tuple[int, ...]:
        """Return the weights in cells, rounded down: what fits in truth fits with them (for bounds)."""
        return tuple(weight // self.cell for weight in self.weights)

    @cached_property
    def thick(self) -> tuple[int, ...]:
        """Return the weights in cells, rounded up: what fits with them fits in truth (for patterns)."""
        return tuple(-(-weight // self.cell) for weight in self.weights)

    @cached_property
    def slots(self) -> tuple[int, ...]:
        """Return the rooms in cells, rounded down."""
        return tuple(room // self.cell for room in self.rooms)

    def cost(self, cut: Cut) -> int:
        """Return the price of all sticks of `cut`."""
        return sum(self.costs[pattern.stock] * times for pattern, times in cut.items())

    def pattern(self, stock: int, counts: Sequence[int] | Whole) -> Pattern:
        """Return the pattern that holds so many of each item."""
        return Pattern(stock, tuple((item, int(n)) for item, n in enumerate(counts) if n))

    def row(self, pattern: Pattern) -> Whole:
        """Return how many of each item a pattern holds."""
        found = np.zeros(len(self.weights), np.int64)
        for item, number in pattern.counts:
            found[item] = number
        return found

    def smallest(self, counts: Sequence[int] | Whole, stock: int, spare: Sequence[float]) -> int:
        """Return the cheapest stock that holds so many of each item, `stock` or one still to be had."""
        weight = int(np.dot(counts, self.heavy))
        able = [k for k, room in enumerate(self.rooms) if room >= weight and (k == stock or spare[k] > 0)]
        return min(able, key=lambda k: (self.costs[k], self.rooms[k], k))

    def left(self, cut: Cut) -> tuple[Whole, list[float]]:
        """Return the pieces of each item and the sticks of each stock that are left after `cut`."""
        wanted = np.array(self.demand, np.int64)
        spare = [math.inf if limit is None else float(limit) for limit in self.limits]
        for pattern, times in cut.items():
            wanted -= times * self.row(pattern)
            spare[pattern.stock] -= times
        return wanted, spare


def _whole_costs(prices: Sequence[Decimal]) -> tuple[list[int], Decimal]:
    exact = [Fraction(price) for price in prices]
    scale = math.lcm(*(f.denominator for f in exact))
    costs = [int(f * scale) for f in exact]
    common = math.gcd(*costs) or 1
    return [c // common for c in costs], Decimal(common) / Decimal(scale)


def make_case(lengths: Sequence[Nm], stocks: Sequence[StickStock], kerf: Nm, end_trim: Nm) -> Case:
    """Return the job as whole numbers.

    Args:
        lengths: what is wanted, a length a piece; each fits at least one of `stocks`.
        stocks: what can be bought, in order; the order is kept.
        kerf: width of a cut.
        end_trim: cut from each stick first and not usable.
    """
    wanted = Counter(lengths)
    different = sorted(wanted, reverse=True)
    demand = tuple(wanted[length] for length in different)
    weights, rooms = shortened(different, demand, kerf, [stock.length - end_trim for stock in stocks])
    costs, money = _whole_costs([stock.price for stock in stocks])
    limits = [None if s.limit is None else min(s.limit, len(lengths)) for s in stocks]
    endless = max((room for room, limit in zip(rooms, limits, strict=True) if limit is None), default=0)
    imaginary = None
    if endless < weights[0]:
        imaginary = len(costs)
        costs.append(1 + sum(c * limit for c, limit in zip(costs, limits, strict=True) if limit is not None))
        rooms.append(max(rooms))
        limits.append(None)
    return Case(
        tuple(different), tuple(weights), demand, tuple(rooms), tuple(costs), tuple(limits), money, imaginary
    )
