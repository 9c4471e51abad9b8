"""Diving: fix the patterns the linear program is surest of, price again for what is left, and go on."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from estimator.cutting.sticks.budget import Work
from estimator.cutting.sticks.case import Ask, Case, Cut, Pattern
from estimator.cutting.sticks.columns import Columns, Relaxation
from estimator.cutting.sticks.fill import fill
from estimator.cutting.sticks.fit import greedy
from estimator.cutting.sticks.master import Floats
from estimator.cutting.sticks.mix import mix

_WHOLE = 1e-6
MANY = 400
"""Above so many different lengths, a plan near the bound must do."""
_ROUNDS, _ROUNDS_OF_MANY = 10_000, 3
_TAIL_ITEMS = 40
_TAIL_COLUMNS = 400
_TAIL_NODES = 60
Lift = Callable[[int], int]


@dataclass(frozen=True, slots=True)
class Manner:
    """How a dive goes.

    Attributes:
        up: how far below a whole number a pattern is still fixed together with the whole ones.
        tail: end by an integer program over the columns at hand.
    """

    up: float
    tail: bool


MANNERS = (
    Manner(0.25, tail=False),
    Manner(_WHOLE, tail=False),
    Manner(0.4, tail=False),
    Manner(0.25, tail=True),
)
"""The manners of diving, the quickest first."""


def _less(count: int | None, times: int) -> int | None:
    return None if count is None else count - times


class Left:
    """What is still wanted and still to be had, and what has been fixed."""

    def __init__(self, case: Case, ask: Ask) -> None:
        self.case = case
        self.demand = list(ask.demand)
        self.least = list(ask.least)
        self.most = list(ask.most)
        self.limits = list(case.limits)
        self.cut: Cut = {}

    def ask(self) -> Ask:
        """Return what is left to ask."""
        return Ask(tuple(self.demand), tuple(self.least), tuple(self.most))

    def room_for(self, pattern: Pattern) -> int:
        """Return how often `pattern` can still be cut without a piece or stick too many."""
        times = min(self.demand[item] // count for item, count in pattern.counts)
        most = self.most[pattern.stock]
        return times if most is None else min(times, most)

    def fix(self, pattern: Pattern, times: int) -> None:
        """Cut `pattern` that often."""
        self.cut[pattern] = self.cut.get(pattern, 0) + times
        for item, count in pattern.counts:
            self.demand[item] -= count * times
        at = pattern.stock
        self.least[at] = max(0, self.least[at] - times)
        self.most[at], self.limits[at] = _less(self.most[at], times), _less(self.limits[at], times)

    def with_rest(self, rest: Cut) -> Cut:
        """Return the fixed patterns and `rest` together."""
        whole = dict(self.cut)
        for pattern, times in rest.items():
            whole[pattern] = whole.get(pattern, 0) + times
        return whole


def fix_surest(left: Left, patterns: Sequence[Pattern], times: Floats, up: float) -> bool:
    """Fix every whole part; where there is none, the pattern nearest to one. Return whether any was."""
    order = np.argsort(-times, kind="stable")
    fixed = False
    for column in order:
        if times[column] < 1 - up:
            break
        often = min(int(times[column] + up), left.room_for(patterns[column]))
        if often:
            left.fix(patterns[column], often)
            fixed = True
    for column in order if not fixed else ():
        if left.room_for(patterns[column]):
            left.fix(patterns[column], 1)
            return True
    return fixed


def _tail(left: Left, columns: Columns, answer: Relaxation, below: int) -> Cut | None:
    """Return the rest of the job cut at less than `below`, from the columns at hand; None if not found."""
    cost = [columns.case.costs[p.stock] for p in columns.master.patterns]
    worth = [sum(int(answer.duals.worth[i]) * n for i, n in p.counts) for p in columns.master.patterns]
    fits = columns.master.fitting(left.demand)
    dear = [c * answer.duals.scale - w for c, w in zip(cost, worth, strict=True)]
    order = sorted((at for at, fit in enumerate(fits) if fit), key=lambda at: (dear[at], at))
    chosen = [columns.master.patterns[at] for at in order[:_TAIL_COLUMNS]]
    found = mix(columns.case, chosen, left.ask(), below, _TAIL_NODES)
    columns.work.done += found.work
    return found.cut


def _improved(left: Left, rest: Cut | None, best: Cut) -> Cut:
    if rest is None:
        return best
    whole = left.with_rest(rest)
    return whole if left.case.cost(whole) < left.case.cost(best) else best


def _quick(left: Left, work: Work) -> Cut:
    """Return the rest of the job cut quickly: by filling sticks where their numbers are given."""
    counts = [most for most in left.most if most is not None]
    filled = fill(left.case, left.demand, counts, work, 1) if len(counts) == len(left.most) else None
    return filled or greedy(left.case, left.demand, left.limits)


def dive(columns: Columns, ask: Ask, root: Relaxation, best: Cut, lift: Lift, manner: Manner) -> Cut:
    """Return the best plan met on one dive, or `best` where none is cheaper.

    Args:
        columns: the columns so far; more are added on the way.
        ask: where the dive starts.
        root: the relaxation of `ask`.
        best: the best plan known.
        lift: lifts a bound to the next cost that can be.
        manner: how boldly.
    """
    case, left, answer = columns.case, Left(columns.case, ask), root
    rounds = _ROUNDS if len(case.weights) <= MANY else _ROUNDS_OF_MANY
    known = len(columns.master.patterns)
    goal = lift(root.duals.bound)
    while any(left.demand):
        fixed = case.cost(left.cut)
        if manner.tail and sum(map(bool, left.demand)) <= _TAIL_ITEMS:
            rest = _tail(left, columns, answer, case.cost(best) - fixed)
            best = _improved(left, rest, best)
            break
        if not fix_surest(left, columns.master.patterns, answer.times, manner.up):
            break
        best = _improved(left, _quick(left, columns.work), best)
        if case.cost(best) <= goal:
            break
        fixed, least = case.cost(left.cut), case.cost(best)

        def hopeless(bound: int, _: float, fixed: int = fixed, least: int = least) -> bool:
            return lift(fixed + bound) >= least

        columns.master.ask(left.ask())
        columns.master.go_on(answer.basis)
        answer = columns.generate(left.ask(), hopeless, rounds=rounds)
        if columns.tired or hopeless(answer.duals.bound, answer.value):
            break
    columns.master.go_on(root.basis)
    columns.master.forget(range(known, len(columns.master.patterns)))
    columns.master.ask(case.ask())
    return best
