"""Column generation: patterns priced by a knapsack table until none would help, with a sound lower bound.

The bound never rests on floating point: the linear program's duals are rounded to whole numbers, the table
values them exactly, and Farley's scaling makes them feasible whatever their error.
Source: P. C. Gilmore and R. E. Gomory, Operations Research 9 (1961) 849-859; A. A. Farley, Operations
Research 38 (1990) 922-923 (from memory).
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import highspy
import numpy as np

from estimator.cutting.stick_case import Ask, Case, Pattern
from estimator.cutting.stick_knapsack import Table, Whole, fill
from estimator.cutting.stick_master import Floats, Master, SolverError

_LARGEST = 2**61
_NEW_EACH_TIME = 10
_PROFIT = 1e-9
_PULL = 5
_ROUNDS = 10_000


@dataclass(frozen=True, slots=True)
class Duals:
    """Feasible duals in whole numbers, `scale` to one unit of cost.

    Attributes:
        worth: of each item.
        slack: of each stock: its cost less the most that one stick of it can be worth; where it is
            negative, what one more stick of a limited stock would save.
        total: the bound they give.
    """

    worth: Whole
    slack: tuple[int, ...]
    total: int
    scale: int

    @property
    def bound(self) -> int:
        """Return the whole cost that no plan goes below."""
        return _ceiling(self.total, self.scale)


@dataclass(frozen=True, slots=True)
class Relaxation:
    """The linear program's answer: its cost, how often each pattern is cut, and the best duals met."""

    value: float
    times: Floats
    duals: Duals
    basis: highspy.HighsBasis


def _ceiling(value: int, scale: int) -> int:
    return -(-value // scale)


Enough = Callable[[int, float], bool]


class Columns:
    """Generates columns for one case, keeping the master warm between calls."""

    def __init__(self, case: Case, ceiling: int) -> None:
        """Start with one piece a stick; no plan dearer than `ceiling` is of interest."""
        self.case = case
        penalty = 16 * ceiling + 1
        self.master = Master(case, penalty)
        self.thin, self.thick, self.slots = case.thin, case.thick, case.slots
        thinnest = min(self.thin)
        pieces = max(self.slots) // thinnest + 1 if thinnest else sum(case.demand)
        self.scale = _LARGEST // (penalty * pieces)
        if not self.scale:
            raise SolverError("costs too large for the table")
        self.highest = penalty * self.scale
        self.turn = 0
        nothing = [
            room
            for cost, limit, room in zip(case.costs, case.limits, case.capacities, strict=True)
            if not cost and limit is None
        ]
        self.free = np.array([weight <= max(nothing, default=0) for weight in case.weights])
        self.master.add(Pattern(case.fallback(w), ((i, 1),)) for i, w in enumerate(case.weights))

    def duals(self, table: Table, worth: Whole, ask: Ask) -> Duals:
        """Return feasible duals made of `worth`, scaled down where a stick could be worth too much."""
        top, under = 1, 1
        values = [int(table.best[room]) for room in self.slots]
        costs = [cost * self.scale for cost in self.case.costs]
        for value, cost, most in zip(values, costs, ask.most, strict=True):
            if most is None and value * top > cost * under:
                top, under = cost, value
        shrunk = np.array([int(v) * top // under for v in worth], np.int64)
        slack = [cost - _ceiling(v * top, under) for v, cost in zip(values, costs, strict=True)]
        total = sum(int(v) * d for v, d in zip(shrunk, ask.demand, strict=True))
        for rest, least, most in zip(slack, ask.least, ask.most, strict=True):
            total += rest * least if rest > 0 else rest * (most or 0)
        return Duals(shrunk, tuple(slack), total, self.scale)

    def sound(self, worth: Whole, ask: Ask) -> Duals:
        """Return feasible duals made of any `worth`."""
        worth = np.where(self.free, 0, worth)
        return self.duals(fill(self.thin, ask.demand, worth, self.slots), worth, ask)

    def _priced(self, table: Table, worth: Whole, rent: list[int]) -> list[Pattern]:
        """Return patterns of the table that `worth` and `rent` say would better the answer."""
        found, values = [], worth.tolist()
        for stock, capacity in enumerate(self.slots):
            dues = self.case.costs[stock] * self.scale
            least = dues - rent[stock] + int(dues * _PROFIT) + 1
            rises = np.flatnonzero(np.diff(table.marks[:, stock], prepend=0) > 0)[-_NEW_EACH_TIME:]
            for at in rises:
                pattern = Pattern(stock, table.counts(capacity, int(at) + 1))
                better = sum(values[item] * count for item, count in pattern.counts) > least
                if better and self.case.weight(pattern.counts) <= self.case.capacities[stock]:
                    found.append(pattern)
        return found

    def _round(self, ask: Ask, centre: Whole | None) -> tuple[Relaxation, list[Pattern]]:
        """Return the answer of the columns at hand, and the columns that would better it.

        Priced near `centre`, the duals swing less and good patterns come sooner.
        Source: P. Wentges, Int. Trans. Operational Research 4 (1997) 151-162 (from memory).
        """
        items = len(self.case.weights)
        value, times, dual = self.master.solve()
        worth = np.floor(np.clip(dual[:items] * self.scale, 0, self.highest)).astype(np.int64)
        worth[self.free] = 0
        rent = [int(d * self.scale) for d in dual[items:]]
        self.turn += 1
        order = range(items) if self.turn % 2 else range(items - 1, -1, -1)
        used = worth if centre is None else centre + (worth - centre) // _PULL
        table = fill(self.thin, ask.demand, used, self.slots, order)
        new = self._priced(table, worth, rent)
        duals = self.duals(table, used, ask)
        if not new and centre is not None:
            table = fill(self.thin, ask.demand, worth, self.slots, order)
            new = self._priced(table, worth, rent)
            duals = max(duals, self.duals(table, worth, ask), key=lambda d: d.total)
        if self.case.cell > 1:
            new += self._priced(fill(self.thick, ask.demand, used, self.slots, order), worth, rent)
        return Relaxation(value, times, duals, self.master.basis()), new

    def generate(
        self, ask: Ask, enough: Enough, centre: Duals | None = None, rounds: int = _ROUNDS
    ) -> Relaxation:
        """Return the relaxation of `ask`.

        Args:
            ask: what is wanted; the master must have been asked the same.
            enough: told the bound and the value so far; True stops early.
            centre: duals to stay near; worth the while where many rounds are ahead.
            rounds: the most rounds of pricing, at least 1.
        """
        answer, new = self._round(ask, centre.worth if centre else None)
        best = max(centre or answer.duals, answer.duals, key=lambda duals: duals.total)
        for _ in range(rounds - 1):
            if enough(best.bound, answer.value) or not self.master.add(new):
                break
            answer, new = self._round(ask, best.worth if centre else None)
            best = max(best, answer.duals, key=lambda duals: duals.total)
        return replace(answer, duals=best)
