"""Column generation: patterns priced by a knapsack table until none would help, with a sound lower bound.

The bound never rests on floating point: the linear program's duals are rounded to whole numbers, the table
values them exactly, and Farley's scaling makes them feasible whatever their error.
Source: P. C. Gilmore and R. E. Gomory, Operations Research 9 (1961) 849-859; A. A. Farley, Operations
Research 38 (1990) 922-923 (from memory).
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from estimator.cutting.stick_case import Case, Pattern
from estimator.cutting.stick_knapsack import Table, Whole, fill
from estimator.cutting.stick_master import Floats, Master

_PRECISION = 2**50
_NEW_EACH_TIME = 10
_PROFIT = 1e-9


@dataclass(frozen=True, slots=True)
class Relaxation:
    """The linear program's answer.

    Attributes:
        value: cost of the fractional plan.
        bound: whole cost that no plan of these demands and limits goes below.
        times: how often each of the master's patterns is cut.
        worth: whole dual of each item, `scale` to one unit of cost.
        rent: whole dual of each stock's limit, 0 or more: what one more of it would save.
        scale: see `worth`.
    """

    value: float
    bound: int
    times: Floats
    worth: Whole
    rent: tuple[int, ...]
    scale: int


def _ceiling(value: int, scale: int) -> int:
    return -(-value // scale)


class Columns:
    """Generates columns for one case, keeping the master warm between calls."""

    def __init__(self, case: Case) -> None:
        self.case = case
        self.master = Master(case)
        self.scale = max(1, _PRECISION // max(1, *case.costs))
        self.cells = 0
        self.turn = 0
        self.free = [
            any(
                not c and u is None and w <= room
                for c, u, room in zip(case.costs, case.limits, case.capacities, strict=True)
            )
            for w in case.weights
        ]
        self.master.add(Pattern(case.fallback(w), ((i, 1),)) for i, w in enumerate(case.weights))

    def _duals(self, duals: NDArray[np.float64]) -> tuple[Whole, list[int]]:
        items = len(self.case.weights)
        worth = np.floor(np.maximum(duals[:items], 0.0) * self.scale).astype(np.int64)
        worth[self.free] = 0
        rent = [0] * len(self.case.costs)
        for stock, row in self.master.row_of_stock.items():
            rent[stock] = int(max(0.0, -duals[row]) * self.scale)
        return worth, rent

    def _bound(self, table: Table, worth: Whole, demand: Sequence[int], limits: Sequence[int | None]) -> int:
        """Return the Lagrangian bound of these duals, scaled; exact in whole numbers."""
        total = sum(int(v) * d for v, d in zip(worth, demand, strict=True))
        top, under = 1, 1
        for stock, cost in enumerate(self.case.costs):
            value = int(table.best[self.case.capacities[stock]])
            if limits[stock] is None and value * top > cost * self.scale * under:
                top, under = cost * self.scale, value
        bound = total * top // under
        for stock, limit in enumerate(limits):
            if limit is not None:
                value = _ceiling(int(table.best[self.case.capacities[stock]]) * top, under)
                bound -= max(0, value - self.case.costs[stock] * self.scale) * limit
        return bound

    def _priced(self, table: Table, rent: Sequence[int]) -> list[Pattern]:
        found = []
        for stock, capacity in enumerate(self.case.capacities):
            least = self.case.costs[stock] * self.scale + rent[stock]
            least += int(least * _PROFIT) + 1
            marks = table.marks[:, stock]
            rises = np.flatnonzero((np.diff(marks, prepend=0) > 0) & (marks > least))[-_NEW_EACH_TIME:]
            found += [Pattern(stock, table.counts(capacity, int(at) + 1)) for at in rises]
        return found

    def generate(
        self,
        demand: Sequence[int],
        limits: Sequence[int | None],
        enough: Callable[[float, int], bool],
        most: int = 10_000,
    ) -> Relaxation:
        """Return the relaxation of what is still wanted.

        Args:
            demand: pieces still wanted of each item.
            limits: sticks still to be had of each stock.
            enough: told the value and the bound so far; True stops early.
            most: the most rounds of pricing.
        """
        best = 0
        for _ in range(most):
            value, times, duals = self.master.solve()
            worth, rent = self._duals(duals)
            self.turn += 1
            order = range(len(demand)) if self.turn % 2 else range(len(demand) - 1, -1, -1)
            table = fill(self.case.weights, demand, worth, self.case.capacities, order)
            self.cells += table.taken.size
            best = max(best, _ceiling(self._bound(table, worth, demand, limits), self.scale))
            if enough(value, best) or not self.master.add(self._priced(table, rent)):
                break
        return Relaxation(value, best, times, worth, tuple(rent), self.scale)
