"""Diving: fix the patterns the linear program is surest of, price again for what is left, and go on."""

from collections.abc import Callable

import numpy as np

from estimator.cutting.stick_case import Case, Cut, Pattern
from estimator.cutting.stick_columns import Columns, Relaxation
from estimator.cutting.stick_fit import greedy

_WHOLE = 1e-6


class Left:
    """What is still wanted and still to be had, and what has been fixed."""

    def __init__(self, case: Case) -> None:
        self.case = case
        self.demand = list(case.demand)
        self.limits = list(case.limits)
        self.cut: Cut = {}

    def most(self, pattern: Pattern) -> int:
        """Return how often `pattern` can still be cut without a piece too many."""
        times = min(self.demand[item] // count for item, count in pattern.counts)
        limit = self.limits[pattern.stock]
        return times if limit is None else min(times, limit)

    def fix(self, pattern: Pattern, times: int) -> None:
        """Cut `pattern` that often."""
        self.cut[pattern] = self.cut.get(pattern, 0) + times
        for item, count in pattern.counts:
            self.demand[item] -= count * times
        limit = self.limits[pattern.stock]
        if limit is not None:
            self.limits[pattern.stock] = limit - times

    def finished(self) -> Cut:
        """Return the fixed patterns with the rest cut greedily."""
        whole = dict(self.cut)
        for pattern, times in greedy(self.case, self.demand, self.limits).items():
            whole[pattern] = whole.get(pattern, 0) + times
        return whole


def _round(left: Left, patterns: list[Pattern], answer: Relaxation) -> None:
    """Fix every whole part; where there is none, the pattern nearest to one."""
    order = np.argsort(-answer.times, kind="stable")
    fixed = False
    for column in order:
        times = min(int(answer.times[column] + _WHOLE), left.most(patterns[column]))
        if answer.times[column] < 1 - _WHOLE:
            break
        if times:
            left.fix(patterns[column], times)
            fixed = True
    if not fixed:
        for column in order:
            if left.most(patterns[column]):
                left.fix(patterns[column], 1)
                return


def dive(
    columns: Columns,
    root: Relaxation,
    best: Cut,
    good_enough: Callable[[int], bool],
    lift: Callable[[int], int],
) -> Cut:
    """Return the best plan met on one dive, or `best` where none is cheaper."""
    case, left, answer = columns.case, Left(columns.case), root
    least = case.cost(best)
    while any(left.demand):
        _round(left, columns.master.patterns, answer)
        candidate = left.finished()
        if case.cost(candidate) < least:
            best, least = candidate, case.cost(candidate)
        if good_enough(least) or not any(left.demand):
            break
        columns.master.demand(left.demand, left.limits)
        fixed = case.cost(left.cut)

        def hopeless(_: float, bound: int, fixed: int = fixed, least: int = least) -> bool:
            return lift(fixed + bound) >= least

        answer = columns.generate(left.demand, left.limits, hopeless)
        if lift(fixed + answer.bound) >= least:
            break
    columns.master.demand(case.demand, case.limits)
    return best
