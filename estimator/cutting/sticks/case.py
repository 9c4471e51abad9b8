"""A stick job as whole numbers: what the solver works on, free of names, units and kerf.

A kerf joins every piece (`weight` = piece + kerf) and every stick (`capacity` = usable length + kerf), which
is the same as one cut fewer than pieces. Weights are divided by their greatest common divisor, so tables
over capacities stay as short as the job allows.
"""

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import NamedTuple

from estimator.core.units import Nm
from estimator.cutting.plans import StickPiece, StickStock
from estimator.cutting.sticks.grid import shortened

_TABLE = 3_000_000
_EXACT_CELLS, _FEWEST_CELLS = 12_800, 6_400
_MOST_CELLS = 40_000
_COARSE, _COARSE_CELLS = 1_000_000, 32_000


def cell_of(capacity: int, items: int) -> int:
    """Return the width of a table's cell: 1 unless the table would grow too large for the items."""
    most = max(_EXACT_CELLS, min(_MOST_CELLS, _TABLE // items))
    return (
        1
        if capacity <= most
        else -(-capacity // max(_FEWEST_CELLS // 2, min(_COARSE // items, _COARSE_CELLS)))
    )


class Pattern(NamedTuple):
    """One way to cut a stick.

    Attributes:
        stock: index of the stock it is cut from.
        counts: (item, how many) by rising item, each count at least 1.
    """

    stock: int
    counts: tuple[tuple[int, int], ...]


Cut = dict[Pattern, int]
"""How often each pattern is cut."""


@dataclass(frozen=True, slots=True)
class Ask:
    """What is asked of a relaxation: the whole job, or what is left of it.

    Attributes:
        demand: pieces of each item still wanted.
        least: sticks of each stock that must be bought, 0 but where the search says so.
        most: sticks of each stock that can be bought; None for as many as wanted.
    """

    demand: tuple[int, ...]
    least: tuple[int, ...]
    most: tuple[int | None, ...]


@dataclass(frozen=True, slots=True)
class Case:
    """The job in whole numbers.

    Attributes:
        lengths: the different piece lengths, longest first; an item is an index into them.
        weights: (length + kerf) / unit, shortened.
        demand: pieces wanted of each length.
        capacities: (usable length + kerf) / unit of each stock, rounded down.
        costs: price of each stock in `money` units.
        limits: how many of each stock can be had; None for as many as wanted.
        money: what one unit of cost is worth.
        cell: width of a cell of the tables over capacities; 1 where they are exact.
        imaginary: index of a stock that cannot be bought, added where limits could make the job
            impossible; it costs more than everything else together. None where it is not needed.
    """

    lengths: tuple[Nm, ...]
    weights: tuple[int, ...]
    demand: tuple[int, ...]
    capacities: tuple[int, ...]
    costs: tuple[int, ...]
    limits: tuple[int | None, ...]
    money: Decimal
    cell: int
    imaginary: int | None

    @property
    def thin(self) -> tuple[int, ...]:
        """Return the weights in cells, rounded down: what fits in truth fits with them (for bounds)."""
        return tuple(weight // self.cell for weight in self.weights)

    @property
    def thick(self) -> tuple[int, ...]:
        """Return the weights in cells, rounded up: what fits with them fits in truth (for patterns)."""
        return tuple(-(-weight // self.cell) for weight in self.weights)

    @property
    def slots(self) -> tuple[int, ...]:
        """Return the capacities in cells, rounded down."""
        return tuple(capacity // self.cell for capacity in self.capacities)

    def weight(self, counts: Iterable[tuple[int, int]]) -> int:
        """Return the capacity that `counts` take up."""
        return sum(self.weights[item] * count for item, count in counts)

    def cost(self, cut: Cut) -> int:
        """Return the price of all sticks of `cut`, in money units."""
        return sum(self.costs[pattern.stock] * times for pattern, times in cut.items())

    def ask(self) -> Ask:
        """Return the whole job."""
        return Ask(self.demand, (0,) * len(self.costs), self.limits)

    def ask_for(self, sticks: tuple[int, ...]) -> Ask:
        """Return the whole job, to be cut from no more than so many sticks of each stock."""
        return Ask(self.demand, (0,) * len(sticks), sticks)

    def fallback(self, weight: int) -> int:
        """Return the cheapest stock without a limit that holds `weight`."""
        fits = (k for k, limit in enumerate(self.limits) if limit is None and self.capacities[k] >= weight)
        return min(fits, key=lambda k: (self.costs[k], self.capacities[k], k))


def _whole_costs(prices: Sequence[Decimal]) -> tuple[list[int], Decimal]:
    exact = [Fraction(price) for price in prices]
    scale = math.lcm(*(f.denominator for f in exact))
    costs = [int(f * scale) for f in exact]
    common = math.gcd(*costs) or 1
    return [c // common for c in costs], Decimal(common) / Decimal(scale)


def make_case(pieces: Sequence[StickPiece], stocks: Sequence[StickStock], kerf: Nm, end_trim: Nm) -> Case:
    """Return the job as whole numbers.

    Args:
        pieces: what is wanted; each fits at least one of `stocks`.
        stocks: what can be bought, in order; the order is kept.
        kerf: width of a cut.
        end_trim: cut from each stick first and not usable.
    """
    wanted = Counter(piece.length for piece in pieces)
    lengths = sorted(wanted, reverse=True)
    demand = tuple(wanted[length] for length in lengths)
    weights, capacities = shortened(lengths, demand, kerf, [stock.length - end_trim for stock in stocks])
    costs, money = _whole_costs([stock.price for stock in stocks])
    limits = [None if s.limit is None else min(s.limit, len(pieces)) for s in stocks]
    endless = max((c for c, limit in zip(capacities, limits, strict=True) if limit is None), default=0)
    imaginary = None
    if endless < weights[0]:
        imaginary = len(costs)
        costs.append(1 + sum(c * limit for c, limit in zip(costs, limits, strict=True) if limit is not None))
        capacities.append(max(capacities))
        limits.append(None)
    return Case(
        lengths=tuple(lengths),
        weights=tuple(weights),
        demand=demand,
        capacities=tuple(capacities),
        costs=tuple(costs),
        limits=tuple(limits),
        money=money,
        cell=cell_of(max(capacities), len(weights)),
        imaginary=imaginary,
    )
