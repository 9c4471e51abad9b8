"""Branching on how many sticks of each stock are bought.

With several stocks at several prices the cost is a sum of whole counts, and the linear program's fractional
counts hide that. Splitting on them lifts the bound and shows which counts are worth a dive.
"""

import heapq
from dataclasses import dataclass, replace
from itertools import count

from estimator.cutting.stick_case import Ask, Case, Cut
from estimator.cutting.stick_columns import Columns, Relaxation
from estimator.cutting.stick_dive import MANNERS, Lift, dive

_WHOLE = 1e-6
_NODES = 400
_NODE_ITEMS = 20_000
_DIVE_ITEMS = 2_000


@dataclass(frozen=True, slots=True)
class Counted:
    """The best plan and the bound after branching on counts."""

    cut: Cut
    bound: int


def bought(columns: Columns, answer: Relaxation) -> list[float]:
    """Return how many sticks of each stock the relaxation buys."""
    sums = [0.0] * len(columns.case.costs)
    for pattern, times in zip(columns.master.patterns, answer.times, strict=False):
        sums[pattern.stock] += times
    return sums


def _between(ask: Ask, stock: int, least: int, most: int | None) -> Ask | None:
    """Return `ask` with the count of `stock` narrowed to `least`..`most`; None where nothing is left."""
    old = ask.most[stock]
    least = max(least, ask.least[stock])
    most = old if most is None else most if old is None else min(most, old)
    if most is not None and least > most:
        return None
    lows, highs = list(ask.least), list(ask.most)
    lows[stock], highs[stock] = least, most
    return replace(ask, least=tuple(lows), most=tuple(highs))


def _split(ask: Ask, sums: list[float]) -> tuple[list[Ask | None], Ask | None]:
    """Return the branches of a node, and the node itself with all counts fixed where they are whole."""
    parts = [abs(s - round(s)) for s in sums]
    stock = max(range(len(sums)), key=lambda k: parts[k])
    if parts[stock] > _WHOLE:
        floor = int(sums[stock])
        return [_between(ask, stock, 0, floor), _between(ask, stock, floor + 1, None)], None
    fixed, branches = ask, []
    for k, total in enumerate(round(s) for s in sums):
        branches += [_between(fixed, k, 0, total - 1), _between(fixed, k, total + 1, None)]
        fixed = _between(fixed, k, total, total) or fixed
    return branches, fixed


class Branching:
    """Best-first search over counts of sticks."""

    def __init__(self, case: Case, columns: Columns, lift: Lift, best: Cut) -> None:
        self.case, self.columns, self.lift, self.best = case, columns, lift, best
        self.heap: list[tuple[int, int, Ask, Relaxation | None]] = []
        self.stuck: list[int] = []
        self.ticket = count()
        items = len(case.weights)
        self.nodes = min(_NODES, _NODE_ITEMS // items)
        self.dives = max(len(MANNERS), _DIVE_ITEMS // items)

    def push(self, bound: int, ask: Ask | None, parent: Relaxation | None = None) -> None:
        """Keep a node for later, unless it is empty or cannot be cheaper."""
        if ask is not None and bound < self.case.cost(self.best):
            heapq.heappush(self.heap, (bound, next(self.ticket), ask, parent))

    def bound(self) -> int:
        """Return the cost that no plan goes below."""
        return min([self.case.cost(self.best), *self.stuck, *(node[0] for node in self.heap[:1])])

    def open(self, bound: int, ask: Ask, parent: Relaxation | None) -> None:
        """Solve a node and branch; where its counts are whole, dive for a plan with just those."""
        least = self.case.cost(self.best)
        self.columns.master.ask(ask)
        if parent is not None:
            self.columns.master.go_on(parent.basis)
        answer = self.columns.generate(ask, lambda low, _: self.lift(low) >= least)
        bound = max(bound, self.lift(answer.duals.bound))
        if bound >= least:
            return
        branches, fixed = _split(ask, bought(self.columns, answer))
        if fixed is not None:
            self.columns.master.ask(fixed)
            self.columns.master.go_on(answer.basis)
            start = self.columns.generate(fixed, lambda low, _: self.lift(low) >= least)
            for manner in MANNERS:
                if self.case.cost(self.best) > bound and self.dives > 0:
                    self.dives -= 1
                    self.best = dive(self.columns, fixed, start, self.best, self.lift, manner)
            if self.case.cost(self.best) > bound:
                self.stuck.append(bound)
        for branch in branches:
            self.push(bound, branch, answer)

    def run(self, root: Relaxation) -> Counted:
        """Return what the nodes bring; their number falls with the number of items, as each takes longer."""
        self.push(self.lift(root.duals.bound), self.case.ask(), root)
        for _ in range(self.nodes):
            if not self.heap or self.bound() >= self.case.cost(self.best):
                break
            bound, _, ask, parent = heapq.heappop(self.heap)
            self.open(bound, ask, parent)
        self.columns.master.ask(self.case.ask())
        return Counted(self.best, self.bound())
