"""From a case to a plan and its bound: quick plan, column generation, dives, and the exact step."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from estimator.cutting.stick_case import Case, Cut
from estimator.cutting.stick_columns import Columns, Duals, Relaxation
from estimator.cutting.stick_costs import lift_to
from estimator.cutting.stick_counts import Branching
from estimator.cutting.stick_dive import dive
from estimator.cutting.stick_fit import greedy
from estimator.cutting.stick_mix import mix
from estimator.cutting.stick_offcuts import longer_offcut
from estimator.cutting.stick_patterns import patterns_within
from estimator.cutting.stick_tidy import fewer_patterns

Progress = Callable[[float], None]
_COLUMNS_KEPT = 4
_COUNT_NODES = 200
_EXACT_PATTERNS = 8_000
_EXACT_NODES = 2_000


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
        self.method = "longest first"

    @property
    def cost(self) -> int:
        """Return the cost of the best plan so far."""
        return self.case.cost(self.best)

    @property
    def open(self) -> bool:
        """Return whether a cheaper plan is still thinkable."""
        return self.bound < self.cost

    def relax(self) -> Relaxation:
        """Generate columns; raise the bound."""
        self.columns = Columns(self.case, self.cost)
        self.columns.master.add(self.best)
        root = self.columns.generate(self.case.ask(), lambda bound: self.lift(bound) >= self.cost)
        self.bound = self.lift(root.duals.bound)
        if self.open:
            self.columns.master.forget_dear(_COLUMNS_KEPT * len(self.case.weights))
            root = self.columns.generate(self.case.ask(), lambda _: False)
        return root

    def dive(self, root: Relaxation, *, tail: bool) -> None:
        """Dive from the root."""
        self.method = "column generation and diving"
        self.best = dive(self.columns, self.case.ask(), root, self.best, self.lift, tail=tail)

    def count(self, root: Relaxation) -> None:
        """Branch on how many sticks of each stock are bought."""
        self.method = "column generation, branching on sticks bought"
        branching = Branching(self.case, self.columns, self.lift, self.best)
        found = branching.run(root, _COUNT_NODES)
        self.best, self.bound = found.cut, max(self.bound, found.bound)

    def _several(self, duals: Duals) -> list[Duals]:
        """Return `duals`, worth by weight, and the mean of both: each shuts out other patterns."""
        scale = duals.scale * min(self.case.costs) // max(self.case.capacities)
        by_weight = self.columns.sound(np.array(self.case.weights, np.int64) * scale, self.case.ask())
        mean = self.columns.sound((duals.worth + by_weight.worth) // 2, self.case.ask())
        return [duals, by_weight, mean]

    def exhaust(self, root: Relaxation) -> None:
        """List every pattern within the gap and find the best mix of them."""
        patterns = patterns_within(self.case, self._several(root.duals), self.cost)
        if patterns is None or len(patterns) > _EXACT_PATTERNS:
            return
        found = mix(self.case, patterns, self.case.ask(), self.cost, _EXACT_NODES, self.bound)
        self.best = found.cut or self.best
        self.bound = max(self.bound, self.lift(min(found.bound, self.cost)))
        self.method = "column generation, then every pattern within the gap"

    def tidy(self, root: Relaxation) -> None:
        """Choose among plans of the same cost: fewer patterns, then the longer offcut."""
        fewer = fewer_patterns(self.case, self.best, root.duals, self.columns.master.patterns)
        self.best = longer_offcut(self.case, fewer)


def solve(case: Case, progress: Progress) -> Answer:
    """Return the cheapest plan found and its bound."""
    search = Search(case)
    root = search.relax()
    progress(0.4)
    if search.open and len(case.costs) > 1:
        search.count(root)
    elif search.open:
        search.dive(root, tail=False)
    progress(0.7)
    if search.open:
        search.exhaust(root)
    progress(0.9)
    search.tidy(root)
    progress(1.0)
    return Answer(search.best, min(search.bound, search.cost), search.method)
