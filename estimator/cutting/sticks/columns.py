"""Column generation: patterns priced by a knapsack table until none would help.

No bound rests on the programme's floating point: its duals are rounded to whole numbers, whatever they are,
and a table says exactly what a stick can then be worth.
Source: P. C. Gilmore and R. E. Gomory, Operations Research 9 (1961) 849-859 (from memory).
"""

from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

import numpy as np
from scipy.sparse import csr_array

from estimator.cutting.knapsack import Table, Whole, dearest, fill
from estimator.cutting.programme import INFINITY, Floats, Programme, SolverError
from estimator.cutting.sticks.case import Case, Pattern

_LARGEST = 2**60
"""What a stick may be worth in a table: well within 64 bits."""
_FINE = 400_000
"""Cells of the table behind a bound: finer than those of patterns, for it is filled once."""
_SHORT = 4
"""A piece not cut costs so many times the whole plan: no plan saves by leaving it out."""
_AROUND = 12
"""Patterns a stock that a round may add: more make rounds fewer and programmes larger."""
_ROUNDS = 3000
"""Rounds after which generation stops with what it has; a list of 300 lengths takes a hundred or two."""
_NEAR = 1e-9
"""Share of its price that a pattern must save to be worth adding: above the solver's rounding."""


class Worths(NamedTuple):
    """What one of each item is said to be worth, in whole numbers, and a stick of each stock at most."""

    items: Whole
    tops: tuple[int, ...]

    def total(self, case: Case) -> int:
        """Return what the whole list is worth."""
        return sum(int(worth) * number for worth, number in zip(self.items, case.demand, strict=True))

    def rule(self, case: Case) -> Floats:
        """Return what a stick of each stock is worth at most, the whole list being 1."""
        return np.array([top / max(1, self.total(case)) for top in self.tops])


def valued(case: Case, items: Whole) -> Worths:
    """Return any worths of the items with the most that a stick of each stock can then be worth, or more."""
    cell = -(-max(case.rooms) // _FINE)
    best = dearest([weight // cell for weight in case.weights], case.demand, items, max(case.rooms) // cell)
    return Worths(items, tuple(int(best[room // cell]) for room in case.rooms))


def lines_of(case: Case, patterns: Sequence[Pattern]) -> Whole:
    """Return a line a pattern: how many of each item it holds, then one in the place of its stock."""
    lines = np.zeros((len(patterns), len(case.weights) + len(case.costs)), np.int64)
    for line, pattern in zip(lines, patterns, strict=True):
        for item, number in pattern.counts:
            line[item] = number
        line[len(case.weights) + pattern.stock] = 1
    return lines


class Columns:
    """The patterns of one case and the linear programme over them: a row an item, then a row a stock."""

    def __init__(self, case: Case, ceiling: int, shares: Floats | None = None) -> None:
        """Begin with no pattern; what is short is paid for above any plan's cost, so there is an answer.

        Args:
            case: the job.
            ceiling: the cost of a known plan.
            shares: shape (rows, items), where a row stands for several items and an item is worth a mean of
                rows: that bounds a plan as well, and lays out none. None for a row an item.

        Raises:
            SolverError: costs too large for the tables.
        """
        self.case = case
        self.shares = csr_array(np.eye(len(case.weights)) if shares is None else shares)
        self.cells = case.thick if shares is None else case.thin
        self.patterns: list[Pattern] = []
        self.known: set[Pattern] = set()
        rows, stocks, short = self.shares.shape[0], len(case.costs), _SHORT * ceiling + 1
        self.programme = Programme([0.0] * (rows + stocks), [INFINITY] * (rows + stocks))
        self.programme.add([short] * rows, np.eye(rows, rows + stocks))
        self.scale = _LARGEST // (short * (max(case.slots) // max(1, min(case.thin)) + 1))
        if not self.scale:
            raise SolverError("costs too large for the tables")
        self.ask(case.demand, [INFINITY if limit is None else limit for limit in case.limits])

    def ask(self, wanted: Sequence[int] | Whole, sticks: Sequence[float]) -> None:
        """Ask for so many pieces of each item, on no more than so many sticks of each stock."""
        self.wanted, rows = np.array(wanted, np.int64), self.shares.shape[0]
        highs = [*[INFINITY] * rows, *sticks]
        self.programme.bound_rows([*(self.shares @ self.wanted), *[0.0] * len(sticks)], highs)
        fits = (lines_of(self.case, self.patterns)[:, : len(self.wanted)] <= self.wanted).all(axis=1)
        self.programme.bound_columns(np.concatenate([np.full(rows, INFINITY), np.where(fits, INFINITY, 0.0)]))

    def add(self, patterns: Iterable[Pattern]) -> int:
        """Add the patterns that are new; return how many."""
        new = [pattern for pattern in dict.fromkeys(patterns) if pattern not in self.known]
        if new:
            lines, items = lines_of(self.case, new), len(self.case.weights)
            rows = (self.shares @ lines[:, :items].T).T
            self.programme.add([self.case.costs[p.stock] for p in new], np.hstack([rows, lines[:, items:]]))
            self.patterns += new
            self.known.update(new)
        return len(new)

    def generate(self, near: float = 0.0) -> tuple[Floats, Worths]:
        """Return how often each pattern is cut, fractions allowed, and the worths behind it.

        Args:
            near: share of the cost that the worths may fall short of it; 0 to go on until no pattern helps.
        """
        rows = self.shares.shape[0]
        for _ in range(_ROUNDS):
            solved = self.programme.solve()
            worth = np.floor(self.shares.T @ np.clip(solved.duals[:rows], 0, None) * self.scale).astype(
                np.int64
            )
            rent = np.clip(-solved.duals[rows:], 0, None)
            dues = [int((cost + r) * self.scale) for cost, r in zip(self.case.costs, rent, strict=True)]
            table = fill(self.cells, self.wanted.tolist(), worth, max(self.case.slots))
            over = max(
                int(table.best[slot]) / max(1, due) for slot, due in zip(self.case.slots, dues, strict=True)
            )
            if over <= 1 + near or not self.add(self._better(table, worth, dues)):
                break
        return solved.uses[rows:], valued(self.case, worth)

    def _better(self, table: Table, worth: Whole, dues: Sequence[int]) -> Iterator[Pattern]:
        """Yield the patterns of every stock worth more than it costs: the best, and the best around items."""
        for stock, (room, due) in enumerate(zip(self.case.slots, dues, strict=True)):
            least = due * (1 + _NEAR)
            if table.best[room] > least:
                yield self.case.pattern(stock, table.counts(room))
                yield from self._around(table, stock, worth, least)

    def _around(self, table: Table, stock: int, worth: Whole, least: float) -> Iterator[Pattern]:
        """Yield the best patterns that hold a given item, for the items where that is worth most."""
        rest = self.case.slots[stock] - np.array(self.cells)
        with_it = np.where((rest >= 0) & (worth > 0), worth + table.best[np.maximum(rest, 0)], 0)
        for item in np.argsort(-with_it, kind="stable")[:_AROUND].tolist():
            if with_it[item] <= least:
                return
            counts = table.counts(int(rest[item]))
            counts[item] += 1
            if counts[item] <= self.wanted[item]:
                yield self.case.pattern(stock, counts)
