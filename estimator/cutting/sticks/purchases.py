"""What can be bought at all: counts of sticks of each stock that no bound rules out, the cheapest first.

Duals value every piece, and a stick holds pieces of no more than a certain worth. Sticks that cannot hold the
worth of all pieces are ruled out, whatever they cost; so each set of duals cuts counts away that another
leaves, and the cheapest counts left are a bound on the cost that is whole by itself.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from estimator.cutting.sticks.case import Case
from estimator.cutting.sticks.duals import Duals
from estimator.cutting.sticks.knapsack import Whole

_MOST_ROWS = 200_000
_FIRST_SHARE = 4_000
_LARGEST_BITS = 61
_MOST_NEAR = 20_000


def _needed(case: Case, duals: Duals) -> tuple[Whole, int]:
    """Return the most a stick of each stock is worth, and the worth of all pieces, in units that fit 64 bits.

    Worths of sticks are rounded up and that of the pieces down, so nothing is ruled out wrongly.
    """
    most = [cost * duals.scale - slack for cost, slack in zip(case.costs, duals.slack, strict=True)]
    total = sum(int(worth) * count for worth, count in zip(duals.worth, case.demand, strict=True))
    pieces = sum(case.demand) * len(case.costs)
    unit = 1 << max(0, (max(most) * pieces).bit_length() - _LARGEST_BITS)
    return np.array([-(-worth // unit) for worth in most], np.int64), total // unit


class Purchases:
    """Counts of sticks, one row each, from the lowest cost up; more are listed as they are called for."""

    def __init__(self, case: Case, low: int) -> None:
        """Start with the counts that cost `low` or more."""
        self.case = case
        self.holds = np.zeros((0, len(case.costs)), np.int64)
        self.needs = np.zeros(0, np.int64)
        self.costs = np.array(case.costs, np.int64)
        self.rows = np.zeros((0, len(case.costs)), np.int64)
        self.listed = low
        self.width = max(1, low // _FIRST_SHARE)
        self.aside: list[int] = []
        self.full = False
        endless = [sum(case.demand)] * len(case.costs)
        self.most = [e if limit is None else limit for e, limit in zip(endless, case.limits, strict=True)]
        rates = [cost / max(1, room) for cost, room in zip(case.costs, case.capacities, strict=True)]
        self.order = sorted(
            range(len(case.costs)), key=lambda k: (case.costs[k] > 0, case.limits[k] is None, -rates[k])
        )

    def rule_out(self, duals: Duals) -> None:
        """Drop the counts that `duals` show to be too few."""
        holds, need = _needed(self.case, duals)
        self.holds = np.vstack([self.holds, holds])
        self.needs = np.append(self.needs, need)
        self.rows = self.rows[self.rows @ holds >= need]

    def _grown(self, rows: Whole, stock: int, low: int, high: int) -> Whole:
        """Return each row with every count of `stock` within the cost that is left of `high`."""
        cost, spent = self.case.costs[stock], rows @ self.costs
        most = np.full(len(rows), self.most[stock], np.int64)
        least = np.zeros(len(rows), np.int64)
        if cost:
            most = np.minimum(most, (high - 1 - spent) // cost)
            if stock == self.order[-1]:
                least = np.maximum(least, -(-(low - spent) // cost))
        size = np.maximum(most - least + 1, 0)
        if size.sum() > 4 * _MOST_ROWS:
            raise OverflowError
        grown = np.repeat(rows, size, axis=0)
        first = np.repeat(np.cumsum(size) - size, size)
        grown[:, stock] = np.repeat(least, size) + np.arange(len(grown)) - first
        return grown

    def _hopeful(self, rows: Whole, rest: Sequence[int], high: int) -> NDArray[np.bool_]:
        """Return which rows can still hold all pieces with what is left of `high` spent on `rest`."""
        money = (high - 1 - rows @ self.costs).astype(np.float64)
        fine = money >= 0
        for holds, need in zip(self.holds, self.needs, strict=True):
            rate = max(
                (holds[k] / self.case.costs[k] if self.case.costs[k] else np.inf for k in rest), default=0.0
            )
            able = money * rate * (1 + 1e-9) if rest else 0.0
            fine &= (rows @ holds).astype(np.float64) + able >= float(need) * (1 - 1e-9)
        return fine

    def _between(self, low: int, high: int) -> Whole:
        """Return the counts that cost `low` to `high` - 1, the cheapest first, then those that hold most.

        Raises:
            OverflowError: they are too many.
        """
        rows = np.zeros((1, len(self.costs)), np.int64)
        for at, stock in enumerate(self.order):
            rows = self._grown(rows, stock, low, high)
            rows = rows[self._hopeful(rows, self.order[at + 1 :], high)]
            if len(rows) > _MOST_ROWS:
                raise OverflowError
        rows = rows[np.all(rows @ self.holds.T >= self.needs, axis=1)]
        room = rows @ np.array(self.case.capacities, np.int64)
        return rows[np.lexsort((*rows.T, -room, rows @ self.costs))]

    def _extend(self, below: int) -> None:
        high = min(below, self.listed + self.width)
        try:
            self.rows = self._between(self.listed, high)
        except OverflowError:
            self.full = self.width == 1
            self.width = max(1, self.width // 8)
            return
        self.listed, self.width = high, 2 * self.width

    def cheapest(self, below: int) -> tuple[int, ...] | None:
        """Return the cheapest counts not set aside that cost less than `below`; None where there are none."""
        while not len(self.rows) and self.listed < below and not self.full:
            self._extend(below)
        if not len(self.rows) or int(self.rows[0] @ self.costs) >= below:
            return None
        return tuple(self.rows[0].tolist())

    def set_aside(self) -> None:
        """Leave the cheapest counts undecided: no plan was found with them, and nothing rules them out."""
        self.aside.append(int(self.rows[0] @ self.costs))
        self.rows = self.rows[1:]

    def list_again(self, low: int) -> None:
        """List from the cost `low` on, which no plan goes below, with all that is ruled out by now."""
        self.full, self.rows = False, self.rows[:0]
        self.listed, self.width = low, 1

    def near(self, middle: Sequence[int], below: int) -> list[tuple[int, ...]]:
        """Return the counts close to `middle` that nothing known rules out, cheapest first."""
        reach = int(_MOST_NEAR ** (1 / len(middle)) / 2)
        axes = [
            np.arange(max(0, n - reach), min(most, n + reach) + 1)
            for n, most in zip(middle, self.most, strict=True)
        ]
        rows = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, len(axes)).astype(np.int64)
        spent = rows @ self.costs
        fine = (spent >= self.listed) & (spent < below) & np.all(rows @ self.holds.T >= self.needs, axis=1)
        rows, spent = rows[fine], spent[fine]
        return [tuple(row) for row in rows[np.lexsort((*rows.T, spent))].tolist()]

    def above(self, cost: int) -> "Purchases":
        """Return the counts that cost `cost` or more and that nothing known rules out."""
        other = Purchases(self.case, cost)
        other.holds, other.needs = self.holds, self.needs
        return other

    def skip(self, cost: int) -> None:
        """Leave the counts next in line that cost less than `cost` undecided too."""
        while not len(self.rows) and self.listed < cost and not self.full:
            self._extend(cost)
        spent = self.rows @ self.costs
        if len(spent) and spent[0] < cost:
            self.aside.append(int(spent[0]))
            self.rows = self.rows[spent >= cost]

    def bound(self, below: int) -> int:
        """Return the cost that no plan goes below, `below` at most."""
        cheapest = self.cheapest(below)
        open_cost = (
            sum(n * cost for n, cost in zip(cheapest, self.case.costs, strict=True)) if cheapest else below
        )
        if self.full and not cheapest:
            open_cost = self.listed
        return min([open_cost, below, *self.aside])
