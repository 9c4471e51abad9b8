"""Column generation: patterns priced by a knapsack table until none would help, with a sound lower bound.

The bound never rests on floating point: the linear program's duals are rounded to whole numbers, the table
values them exactly, and Farley's scaling makes them feasible whatever their error.
Source: P. C. Gilmore and R. E. Gomory, Operations Research 9 (1961) 849-859; A. A. Farley, Operations
Research 38 (1990) 922-923 (from memory).
"""

import sys
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import highspy
import numpy as np

from estimator.cutting.sticks.budget import Work
from estimator.cutting.sticks.case import Ask, Case, Pattern
from estimator.cutting.sticks.duals import Duals, feasible
from estimator.cutting.sticks.knapsack import Table, Whole, fill
from estimator.cutting.sticks.master import Floats, Master, SolverError
from estimator.cutting.sticks.patterns import patterns_worth

_LARGEST = 2**61
_NEW_EACH_TIME = 10
_NEW_AROUND = 20
_MOST_COLUMNS, _COLUMNS_KEPT = 4, 2
_FEW_NEW = 10
_USELESS = 10
_PROFIT = 1e-9
_PULL = 5
_ROUNDS = 10_000
_REFINED = 40
_MOST_REFINED = 20_000
_NEW_REFINED = 60
_EFFORT_STEP, _EFFORT_LISTED, _EFFORT_TABLE, _EFFORT_READ = 2_600, 3_000, 2, 6_300
_CELLS_AT_ONCE, _EFFORT_READ_STEP = 4, 21


@dataclass(frozen=True, slots=True)
class Relaxation:
    """The linear program's answer: its cost, how often each pattern is cut, and the best duals met."""

    value: float
    times: Floats
    duals: Duals
    basis: highspy.HighsBasis


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
        self.work, self.allowed = Work(), sys.maxsize
        nothing = [
            room
            for cost, limit, room in zip(case.costs, case.limits, case.capacities, strict=True)
            if not cost and limit is None
        ]
        self.free = np.array([weight <= max(nothing, default=0) for weight in case.weights])
        self.master.add(Pattern(case.fallback(w), ((i, 1),)) for i, w in enumerate(case.weights))

    @property
    def effort(self) -> int:
        """Return the work done so far: counted, about a nanosecond each, and so the same everywhere."""
        return self.work.done + self.master.effort

    @property
    def tired(self) -> bool:
        """Return whether the work allowed is done."""
        return self.effort >= self.allowed

    def _filled(
        self, weights: Sequence[int], ask: Ask, worth: Whole, order: Sequence[int] | None = None
    ) -> Table:
        table = fill(weights, ask.demand, worth, self.slots, order)
        self.work.done += len(table.steps) * (len(table.best) // _CELLS_AT_ONCE + _EFFORT_STEP)
        return table

    def sound(self, worth: Whole, ask: Ask) -> Duals:
        """Return feasible duals made of any `worth`."""
        worth = np.where(self.free, 0, worth)
        return self._duals(self._filled(self.thin, ask, worth), worth, ask)

    def _duals(self, table: Table, worth: Whole, ask: Ask) -> Duals:
        return feasible(self.case, worth, [int(table.best[room]) for room in self.slots], ask, self.scale)

    def _priced(self, table: Table, worth: Whole, rent: list[int], ask: Ask) -> list[Pattern]:
        """Return patterns of the table that `worth` and `rent` say would better the answer."""
        found, values = [], worth.tolist()
        for stock, capacity in enumerate(self.slots):
            least, useless = self._least(stock, rent), 0
            if table.values is worth and int(table.best[capacity]) <= least:
                continue
            for pattern in self._likely(table, stock, capacity, ask):
                better = sum(values[item] * count for item, count in pattern.counts) > least
                useless = 0 if better else useless + 1
                if better and self.case.weight(pattern.counts) <= self.case.capacities[stock]:
                    found.append(pattern)
                if useless == _USELESS:
                    break
        return found

    def _likely(self, table: Table, stock: int, capacity: int, ask: Ask) -> Iterator[Pattern]:
        """Yield the best patterns of the first so many steps, and the best ones around single items."""
        rises = np.flatnonzero(np.diff(table.marks[:, stock], prepend=0) > 0)[-_NEW_EACH_TIME:]
        seen: set[int] = set()
        read = _EFFORT_READ + _EFFORT_READ_STEP * len(table.steps)
        for at in rises[::-1]:
            self.work.done += read
            counts = table.counts(capacity, int(at) + 1)
            seen.update(item for item, _ in counts)
            yield Pattern(stock, counts)
        made = 0
        for item, room in table.around(capacity):
            if made == _NEW_AROUND:
                break
            if item in seen:
                continue
            self.work.done += read
            whole = Counter(dict(table.counts(room)))
            whole[item] += 1
            made += 1
            if whole[item] <= ask.demand[item]:
                seen.update(whole)
                yield Pattern(stock, tuple(sorted(whole.items())))

    def _solved(self) -> tuple[float, Floats, Whole, list[int]]:
        """Return the cost, how often each pattern is cut, and the whole worth of each item and stock."""
        items = len(self.case.weights)
        value, times, dual = self.master.solve()
        worth = np.floor(np.clip(dual[:items] * self.scale, 0, self.highest)).astype(np.int64)
        worth[self.free] = 0
        return value, times, worth, [int(d * self.scale) for d in dual[items:]]

    def _least(self, stock: int, rent: list[int]) -> int:
        """Return what a pattern must be worth more than to better the answer."""
        dues = self.case.costs[stock] * self.scale
        return dues - rent[stock] + int(dues * _PROFIT) + 1

    def _round(self, ask: Ask, centre: Whole | None) -> tuple[Relaxation, list[Pattern]]:
        """Return the answer of the columns at hand, and the columns that would better it.

        Priced near `centre`, the duals swing less and good patterns come sooner.
        Source: P. Wentges, Int. Trans. Operational Research 4 (1997) 151-162 (from memory).
        """
        items = len(self.case.weights)
        value, times, worth, rent = self._solved()
        self.turn += 1
        order = range(items) if self.turn % 2 else range(items - 1, -1, -1)
        used = worth if centre is None else centre + (worth - centre) // _PULL
        table = self._filled(self.thin, ask, used, order)
        new = self._priced(table, worth, rent, ask)
        duals = self._duals(table, used, ask)
        if not new and centre is not None:
            table = self._filled(self.thin, ask, worth, order)
            new = self._priced(table, worth, rent, ask)
            duals = max(duals, self._duals(table, worth, ask), key=lambda d: d.total)
        if self.case.cell > 1 and len(new) < _FEW_NEW:
            new += self._priced(self._filled(self.thick, ask, used, order), worth, rent, ask)
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
            if enough(best.bound, answer.value) or self.tired or not self.master.add(new):
                break
            answer, new = self._round(ask, best.worth if centre else None)
            if centre and len(self.master.patterns) > _MOST_COLUMNS * len(self.case.weights):
                self.master.forget_dear(_COLUMNS_KEPT * len(self.case.weights))
                answer = replace(answer, basis=self.master.basis(), times=self.master.times())
            best = max(best, answer.duals, key=lambda duals: duals.total)
        return replace(answer, duals=best)

    def refine(self, ask: Ask, answer: Relaxation, enough: Enough) -> Relaxation:
        """Return the relaxation of `ask`, the whole job, with a bound that owes nothing to coarse tables.

        Patterns that would better the answer are listed by true weights; where none is left, the worth of a
        stick is known to the unit.
        """
        best = answer.duals
        for _ in range(_REFINED if self.case.cell > 1 else 0):
            if enough(best.bound, answer.value) or self.tired:
                break
            value, times, worth, rent = self._solved()
            least = [self._least(stock, rent) for stock in range(len(self.slots))]
            found = patterns_worth(self.case, worth, [n + 1 for n in least], full=False, most=_MOST_REFINED)
            self.work.done += _EFFORT_LISTED * (_MOST_REFINED if found is None else len(found))
            self.work.done += _EFFORT_TABLE * len(worth) * max(self.slots)
            if found is None:
                break
            worths = [sum(int(worth[item]) * count for item, count in p.counts) for p in found]
            tops = list(least)
            for pattern, total in zip(found, worths, strict=True):
                tops[pattern.stock] = max(tops[pattern.stock], total)
            duals = feasible(self.case, worth, tops, ask, self.scale)
            best = max(best, duals, key=lambda d: d.total)
            answer = Relaxation(value, times, best, self.master.basis())
            dearest = sorted(range(len(found)), key=lambda at: (-worths[at], at))
            if not self.master.add(found[at] for at in dearest[:_NEW_REFINED]):
                break
        return replace(answer, duals=best)
