"""From a case to a plan and its bound: quick plan, column generation, dives, and the exact step."""

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from estimator.cutting.sticks.case import Case, Cut, Pattern
from estimator.cutting.sticks.columns import Columns, Relaxation
from estimator.cutting.sticks.costs import lift_to
from estimator.cutting.sticks.counts import Counting, fill_cheapest
from estimator.cutting.sticks.dive import MANNERS, MANY, Manner, dive
from estimator.cutting.sticks.duals import Duals, feasible
from estimator.cutting.sticks.fill import free_patterns, fullest
from estimator.cutting.sticks.fit import greedy
from estimator.cutting.sticks.groups import rounded, spread
from estimator.cutting.sticks.master import SolverError
from estimator.cutting.sticks.mix import mix
from estimator.cutting.sticks.offcuts import longer_offcut
from estimator.cutting.sticks.patterns import patterns_within
from estimator.cutting.sticks.purchases import Purchases
from estimator.cutting.sticks.tidy import MOST_TIDIED, fewer_patterns

Progress = Callable[[float], None]
_COLUMNS_KEPT = 4
_ROOT_DIVES = 2
_FEW = 60
_MOST_LENGTHS = 1_200
_NEAR, _VERY_NEAR = 1.001, 1.0001
_LIKE_PIECES = 1.5
_LIKELY = 300
_OPEN = 25
_EFFORT_OF_ONE, _EFFORT_OF_SEVERAL = 6.5e8, 6.2e8
_ROOT_SHARE, _DIVE_SHARE = 0.6, 0.15
_LITTLE = 1.2e8
_EXACT_OF_ONE = (8_000, 1_500_000)
_EXACT_OF_SEVERAL = (400, 60_000)


@dataclass(frozen=True, slots=True)
class Answer:
    """A plan in whole numbers.

    Attributes:
        cut: how often each pattern is cut.
        bound: whole cost that no plan goes below.
        method: how the plan was found.
    """

    cut: Cut
    bound: int
    method: str


class Search:
    """One case on its way from a quick plan to the best, with the bound that goes with it."""

    def __init__(self, case: Case) -> None:
        self.case = case
        self.best = greedy(case, case.demand, case.limits)
        self.lift = lift_to(case, self.cost)
        self.bound = 0
        self.filled = set[tuple[int, ...]]()
        self.method = "longest first"

    @property
    def cost(self) -> int:
        """Return the cost of the best plan so far."""
        return self.case.cost(self.best)

    @property
    def open(self) -> bool:
        """Return whether a cheaper plan is still thinkable."""
        return self.bound < self.cost

    def start(self) -> None:
        """Bound by the material alone; where nearly every piece has its own length, fill sticks."""
        self.columns = Columns(self.case, self.cost)
        self.allow(_ROOT_SHARE)
        self.full = fullest(self.case)
        by_weight = self._by_weight()
        self.purchases = Purchases(self.case, self.lift(by_weight.bound))
        self.purchases.rule_out(by_weight)
        self.bound = self.purchases.bound(self.cost)
        if sum(self.case.demand) < _LIKE_PIECES * len(self.case.weights):
            self._fill()

    def allow(self, share: float) -> None:
        """Let the columns work up to a share of what the job is worth."""
        several = len(self.case.costs) > 1
        size = max(1.0, len(self.case.weights) / _LIKELY) ** 2
        self.columns.allowed = int(share * size * (_EFFORT_OF_SEVERAL if several else _EFFORT_OF_ONE))

    def _fill(self) -> None:
        before = self.best
        self.best = fill_cheapest(self.columns, self.purchases, self.best, self.filled)
        if self.best is not before:
            self.method = "sticks filled without a rest"

    def relax(self) -> Relaxation:
        """Generate columns; raise the bound."""
        self.columns.master.add(self.best)
        for patterns in free_patterns(self.case, self.columns.work):
            self.columns.master.add(patterns)
            self._offer(patterns)
        root = self.columns.generate(self.case.ask(), self._enough, self._by_weight())
        self._learn(root.duals)
        if self.open and len(self.case.weights) <= MANY:
            self.columns.master.forget_dear(_COLUMNS_KEPT * len(self.case.weights))
            root = self.columns.generate(self.case.ask(), self._settled)
            root = self.columns.refine(self.case.ask(), root, self._enough)
            self._learn(root.duals)
        return root

    def _offer(self, patterns: Sequence[Pattern]) -> None:
        """Take `patterns`, a plan of the whole job, if there are sticks for it and it is cheaper."""
        bought = Counter(pattern.stock for pattern in patterns)
        limits = enumerate(self.case.limits)
        cut = Cut(Counter(patterns))
        if self.case.cost(cut) < self.cost and all(most is None or bought[k] <= most for k, most in limits):
            self.best, self.method = cut, "sticks filled without a rest"

    def _learn(self, duals: Duals) -> None:
        for known in self._several(duals)[::2]:
            self.purchases.rule_out(known)
        self.bound = max(self.bound, self.purchases.bound(self.cost), self.lift(duals.bound))

    def dives(self, root: Relaxation, manners: Sequence[Manner]) -> None:
        """Dive from the root in each manner, while a cheaper plan is thinkable."""
        for manner in manners:
            before = self.best
            if self.open and not self.columns.tired:
                self.best = dive(self.columns, self.case.ask(), root, self.best, self.lift, manner)
            if self.best is not before:
                self.method = "column generation and diving"

    def count(self, root: Relaxation) -> None:
        """Go through the counts of sticks that can be bought."""
        self.allow(1.0)
        self._fill()
        before = self.best
        self.best = Counting(self.case, self.columns, self.purchases, self.lift, self.best).run(root)
        if self.best is not before:
            self.method = "column generation, sticks bought tried one by one"
        self.bound = max(self.bound, self.purchases.bound(self.cost))

    def _enough(self, bound: int, value: float) -> bool:
        items = len(self.case.weights)
        near = value <= bound * (_NEAR if items > MANY else _VERY_NEAR if items > _FEW else 1)
        return near or self.lift(bound) >= self.cost

    def _settled(self, bound: int, value: float) -> bool:
        return len(self.case.weights) > _FEW and len(self.case.costs) > 1 and value <= bound * _VERY_NEAR

    def _by_weight(self) -> Duals:
        """Return duals that say a piece is worth its weight: the bound of the material."""
        rates = zip(self.case.costs, self.case.capacities, strict=True)
        rate = min(cost * self.columns.scale // room for cost, room in rates if room)
        worth = np.array(self.case.weights, np.int64) * rate
        tops = [int(room) * rate for room in self.full]
        return feasible(self.case, worth, tops, self.case.ask(), self.columns.scale)

    def _several(self, duals: Duals) -> list[Duals]:
        """Return `duals`, worth by weight, and the mean of both: each shuts out other patterns."""
        by_weight = self._by_weight()
        mean = self.columns.sound((duals.worth + by_weight.worth) // 2, self.case.ask())
        return [duals, by_weight, mean]

    def exhaust(self, root: Relaxation) -> None:
        """List every pattern within the gap and find the best mix of them."""
        most, work = _EXACT_OF_ONE if len(self.case.costs) == 1 else _EXACT_OF_SEVERAL
        patterns = patterns_within(self.case, self._several(root.duals), self.cost, most=_OPEN * most)
        if patterns is None or len(patterns) > most:
            return
        nodes = max(1, work // max(1, len(patterns)))
        found = mix(self.case, patterns, self.case.ask(), self.cost, nodes, self.bound)
        self.columns.work.done += found.work
        self.best = found.cut or self.best
        self.bound = max(self.bound, self.lift(min(found.bound, self.cost)))
        self.method = "column generation, then every pattern within the gap"

    def tidy(self, root: Relaxation) -> None:
        """Choose among plans of the same cost the one with fewer patterns."""
        known, deep = self.columns.master.patterns, self.columns.effort < _LITTLE
        self.best = fewer_patterns(self.case, self.best, root.duals, known, deep=deep)

    def settle(self) -> None:
        """Choose among plans of the same cost and patterns the one with the longer offcut."""
        self.best = longer_offcut(self.case, self.best)


def solve(case: Case, progress: Progress) -> Answer:
    """Return the cheapest plan found and its bound."""
    if len(case.weights) > _MOST_LENGTHS:
        return _in_groups(case, progress)
    search = Search(case)
    progress(0.05)
    try:
        _improve(search, progress)
    except SolverError:
        search.method += "; the linear program gave up"
    progress(1.0)
    return Answer(search.best, min(search.bound, search.cost), search.method)


def _in_groups(case: Case, progress: Progress) -> Answer:
    """Return the better of a quick plan and one of lengths rounded up, with the bound of rounding down."""
    quick = greedy(case, case.demand, case.limits)
    lower = Search(rounded(case, up=False))
    try:
        lower.start()
        lower.relax()
    except SolverError:
        lower.bound = 0
    progress(0.3)
    upper = solve(rounded(case, up=True), lambda share: progress(0.3 + 0.6 * share))
    careful = spread(case, upper.cut)
    progress(1.0)
    bound = min(lower.bound, case.cost(quick), case.cost(careful))
    if case.cost(careful) < case.cost(quick):
        return Answer(careful, bound, f"{upper.method}, lengths in groups")
    return Answer(quick, bound, "longest first, bounded with lengths in groups")


def _improve(search: Search, progress: Progress) -> None:
    """Do what is left to do, step by step, until the plan is shown to be the best."""
    search.start()
    items = len(search.case.weights)
    if not search.open and items > MOST_TIDIED:
        search.settle()
        return
    root = search.relax()
    progress(0.4)
    if items <= _FEW:
        search.dives(root, MANNERS[:_ROOT_DIVES])
    if search.open and items <= MANY:
        search.count(root)
    if items > _FEW:
        search.allow(1 + _DIVE_SHARE)
        search.dives(root, MANNERS[:1] if items <= MANY else MANNERS[2::-2])
    progress(0.7)
    if search.open:
        search.exhaust(root)
    progress(0.9)
    search.tidy(root)
    search.settle()
