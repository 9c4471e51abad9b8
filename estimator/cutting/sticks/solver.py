"""From a case to a plan and its bound: numbers of sticks from the cheapest up, each filled or ruled out.

Among plans on the same sticks the one with fewer different patterns is kept: the saw is set for each. The
exact step takes every pattern that a cheaper plan can use, and the best whole mix of them: on given sticks,
what the pieces are worth leaves so much to spare in all; a pattern that is worth less than its stick by more
than that is in no plan. What is left is often few enough for an integer programme: a proof.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from estimator.cutting.knapsack import tails
from estimator.cutting.programme import INFINITY, Floats, Programme, SolverError
from estimator.cutting.sticks.case import Case, Cut, Pattern
from estimator.cutting.sticks.columns import Columns, Worths, lines_of, valued
from estimator.cutting.sticks.purchases import Purchases, Sticks
from estimator.cutting.sticks.sequence import longest_first, plans, shrunk


def patterns_within(case: Case, worths: Worths, sticks: Sticks, most: int) -> list[Pattern] | None:
    """Return every full pattern that a plan on so many sticks can use; None for more than `most`.

    A pattern is full where no further piece wanted fits: a plan may make too many, so fewer never help.
    """
    rest = tails(case.thin, case.demand, worths.items, max(case.slots))
    slack = sum(top * n for top, n in zip(worths.tops, sticks, strict=True)) - worths.total(case)
    stock = np.flatnonzero(sticks)
    left, value = np.array(case.rooms, np.int64)[stock], np.zeros(len(stock), np.int64)
    least = np.array([max(0, worths.tops[k] - slack) for k in stock], np.int64)
    counts = np.zeros((len(stock), len(case.weights)), np.int16)
    for item, (weight, wanted) in enumerate(zip(case.weights, case.demand, strict=True)):
        parts = []
        for number in range(min(wanted, max(case.rooms) // weight if weight else wanted) + 1):
            room, worth = left - number * weight, value + number * int(worths.items[item])
            keep = room >= 0
            keep[keep] = worth[keep] + rest[item + 1][room[keep] // case.cell] >= least[keep]
            held = counts[keep].copy()
            held[:, item] = number
            parts.append((stock[keep], room[keep], worth[keep], least[keep], held))
        stock, left, value, least, counts = (np.concatenate(column) for column in zip(*parts, strict=True))
        if len(stock) > 4 * most:
            return None
    more = (left[:, None] >= case.heavy) & (counts < np.array(case.demand))
    full = ~more.any(axis=1)
    if full.sum() > most:
        return None
    return [case.pattern(int(k), held) for k, held in zip(stock[full], counts[full], strict=True)]


def mixed(case: Case, patterns: Sequence[Pattern], sticks: Sticks, looks: int) -> tuple[Cut | None, bool]:
    """Return a whole mix of `patterns` on no more than so many sticks; None and whether there is none."""
    if not patterns:
        return None, True
    items = len(case.weights)
    model = Programme([*case.demand, *[0.0] * len(sticks)], [*[INFINITY] * items, *sticks])
    model.add([float(case.costs[p.stock]) for p in patterns], lines_of(case, patterns))
    found = model.solve_whole(looks, INFINITY)
    if found.uses is None:
        return None, found.bound == INFINITY
    return Cut({p: int(n) for p, n in zip(patterns, found.uses, strict=True) if n > 0}), False


def trimmed(case: Case, cut: Cut) -> Cut:
    """Return `cut` without the pieces too many."""
    surplus, done = -case.left(cut)[0], Cut()
    for pattern, times in cut.items():
        for _ in range(times):
            counts = case.row(pattern)
            spare = np.minimum(counts, surplus)
            surplus -= spare
            if (counts > spare).any():
                done[case.pattern(pattern.stock, counts - spare)] += 1
    return done


_MOST = 60
"""Patterns tried and patterns of a plan looked at: more are rarely fewer within the looks."""
_LOOKS = 60
"""Looks at the programme; half of the gain comes within ten."""


def _uses(case: Case, pattern: Pattern) -> int:
    """Return how often a pattern can be cut without a piece too many."""
    return min(case.demand[item] // number for item, number in pattern.counts)


def _likeliest(case: Case, patterns: Sequence[Pattern], worths: Worths) -> list[Pattern]:
    """Return the patterns that waste least by `worths` and can be cut most often."""

    def waste(pattern: Pattern) -> tuple[int, int]:
        worth = sum(int(worths.items[item]) * number for item, number in pattern.counts)
        return worths.tops[pattern.stock] - worth, -_uses(case, pattern)

    return sorted((p for p in patterns if _uses(case, p)), key=lambda p: (*waste(p), p))[:_MOST]


def fewer_patterns(case: Case, cut: Cut, known: Sequence[Pattern], worths: Worths) -> Cut:
    """Return a plan on the same sticks with fewer patterns, `cut` where none was found.

    Args:
        case: the job.
        cut: the plan.
        known: patterns to try.
        worths: what the items are worth, to tell which of them are likeliest.
    """
    if not 1 < len(cut) <= _MOST:
        return cut
    patterns = list(dict.fromkeys([*cut, *_likeliest(case, known, worths)]))
    size, most = len(patterns), np.array([_uses(case, pattern) for pattern in patterns], float)
    sticks = [float(sum(n for p, n in cut.items() if p.stock == stock)) for stock in range(len(case.costs))]
    model = Programme(
        [*case.demand, *[0.0] * len(sticks), *[0.0] * size], [*case.demand, *sticks, *[INFINITY] * size]
    )
    model.add(np.zeros(size), np.hstack([lines_of(case, patterns), -np.eye(size)]))
    model.add(np.ones(size), np.hstack([np.zeros((size, len(case.demand) + len(sticks))), np.diag(most)]))
    model.bound_columns(np.concatenate([most, np.ones(size)]))
    times = np.array([cut[pattern] for pattern in patterns])
    found = model.solve_whole(_LOOKS, 0.0, [*times.tolist(), *(times > 0).astype(float).tolist()]).uses
    better = Cut({p: int(n) for p, n in zip(patterns, [] if found is None else found, strict=False) if n > 0})
    return better if better and len(better) < len(cut) and not case.left(better)[0].any() else cut


Progress = Callable[[float], None]
_MANY = 200
"""Lengths above which one plan, one dive and one number of sticks have to do: each takes long."""
_ROUGH = 0.002
"""Share by which worths may be wrong in such a list: the last rounds cost most and save least."""
_SOME, _FIRST = 1_000, 3
"""Pieces up to which so many plans by weight are made to begin with."""
_PURCHASES = 60
"""Numbers of sticks looked at: more than any list of a shop has needed."""
_FEW = 100
"""Pieces left of a list of many lengths, from which on plans are made of them at every step."""
_UNDECIDED = 3
"""Numbers of sticks neither filled nor ruled out, after which the gap is left."""
_CLOSE = 0.0005
"""Share of the cost below which a gap that is not decided is left: some cents of a room."""
_SURE = (0.8, 0.6, 0.95, 0.7, 0.5, 0.9)
"""How often at least a pattern is to be cut by the programme to be fixed, dive by dive (own judgement)."""
_USED = 1e-9
"""What HiGHS may leave of a use that is none."""
_MOST_PATTERNS, _ENTRIES = 20_000, 1_200_000
"""Patterns listed for the exact step, and items times patterns: about as many as it can mix in a second."""
_LOOKS, _LEAST_LOOKS, _WORK = 300, 20, 600_000
"""Looks at the exact step, fewer where patterns are many: a look takes about as long as it has patterns."""


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


class _Search:
    """One case on its way from a quick plan to the best, with the bound that goes with it."""

    def __init__(self, case: Case) -> None:
        self.case = case
        self.best, self.cost, self.bound = Cut(), 0, 0
        self.method = ""
        self.many = len(case.weights) > _MANY
        self.near = _ROUGH if self.many else 0.0
        self._take([longest_first(case)], "longest pieces first")
        if sum(case.demand) <= _SOME:
            first = plans(case, Cut(), case.heavy.astype(float), 1 if self.many else _FIRST)
            self._take(first, "longest pieces first, by value")

    def _take(self, found: Iterable[Cut], method: str) -> None:
        """Keep the cheapest of the plans found and the best so far."""
        for cut in found:
            cost = self.case.cost(cut)
            if not self.best or cost < self.cost:
                self.best, self.cost, self.method = cut, cost, method
            if self.cost <= self.bound:
                return

    def relax(self) -> None:
        """Make the columns of the whole list, and what they say of the numbers of sticks."""
        self.columns = Columns(self.case, self.cost)
        self.columns.add(self.best)
        uses, self.root = self.columns.generate(self.near)
        rules = [valued(self.case, self.case.heavy).rule(self.case), self.root.rule(self.case)]
        self.purchases = Purchases(self.case, rules)
        if self.many:
            self._dive(self.case.limits, (uses, self.root), _SURE[0])

    def buy(self) -> None:
        """Go through the numbers of sticks that may do, from the cheapest up, until a plan meets one."""
        least, undecided = 0, 0
        for _ in range(_PURCHASES):
            sticks = self.purchases.cheapest(self.cost, least)
            spent = self.cost if sticks is None else self.purchases.cost(sticks)
            self.bound = self.bound if undecided else spent
            if sticks is None or (self.many and self.cost - self.bound <= _CLOSE * self.cost):
                return
            decided = self._decide(sticks)
            undecided += not decided
            done = self.many or self.cost - self.bound <= _CLOSE * self.cost or undecided > _UNDECIDED
            if self.cost <= self.bound or (undecided and done):
                return
            least = (self.bound + self.cost) // 2 if undecided else 0

    def _decide(self, sticks: Sticks) -> bool:
        """Fill so many sticks, or rule them out; return whether either is done."""
        self.columns.ask(self.case.demand, sticks)
        uses, worths = self.columns.generate(self.near)
        if self.purchases.learn(worths.rule(self.case), sticks):
            return True
        if self._cut_from(sticks, uses, worths):
            return True
        decided = not self.many and self._exhaust(sticks, worths)
        if self.cost > self.purchases.cost(sticks):
            self.purchases.too_few.append(sticks)
        return decided

    def _cut_from(self, sticks: Sticks, uses: Floats, worths: Worths) -> bool:
        target = self.purchases.cost(sticks)
        for share in _SURE[:1] if self.many else _SURE:
            self._dive(sticks, (uses, worths), share, target)
            if self.cost <= target:
                return True
        return False

    def _dive(
        self, limits: Sequence[int | None], begin: tuple[Floats, Worths], share: float, target: int = 0
    ) -> None:
        """Fix the sticks that the programme is surest of, ask again for what is left, and so on."""
        limited, cut, (uses, worths) = replace(self.case, limits=tuple(limits)), Cut(), begin
        while _fixed(limited, self.columns, uses, cut, share):
            wanted, spare = limited.left(cut)
            if not self.many or wanted.sum() < _FEW:
                self._take(plans(limited, cut, worths.items.astype(float), 1), "column generation and dives")
            if self.cost <= target or not wanted.any():
                return
            self.columns.ask(wanted, spare)
            uses, worths = self.columns.generate(self.near)

    def _exhaust(self, sticks: Sticks, worths: Worths) -> bool:
        """Mix every pattern that a plan on so many sticks can use; return whether that decides it."""
        most = min(_MOST_PATTERNS, _ENTRIES // len(self.case.weights))
        every = patterns_within(self.case, worths, sticks, most)
        patterns = self.columns.patterns if every is None else every
        looks = max(_LEAST_LOOKS, min(_LOOKS, _WORK // (1 + len(patterns))))
        cut, none = mixed(self.case, patterns, sticks, looks)
        if cut is not None:
            self._take([shrunk(self.case, trimmed(self.case, cut))], "every pattern within the gap")
        return cut is not None or (every is not None and none)

    def tidy(self) -> None:
        """Choose among plans on the same sticks the one with fewer patterns."""
        self.best = fewer_patterns(self.case, self.best, self.columns.patterns, self.root)


def _fixed(case: Case, columns: Columns, uses: Floats, cut: Cut, share: float) -> int:
    """Add to `cut` the sticks used `share` or more, at least the pattern used most; return how many."""
    (wanted, spare), number = case.left(cut), 0
    for at in np.argsort(-uses, kind="stable"):
        if uses[at] <= _USED or (number and uses[at] < share):
            break
        counts, stock = case.row(columns.patterns[at]), columns.patterns[at].stock
        fits = (wanted[counts > 0] // counts[counts > 0]).min()
        times = int(min(max(1, uses[at] + 1 - share), spare[stock], fits))
        cut[columns.patterns[at]] += times
        wanted -= times * counts
        spare[stock] -= times
        number += times
    return number


def solve(case: Case, progress: Progress) -> Answer:
    """Return the cheapest plan found and its bound."""
    search = _Search(case)
    progress(0.2)
    try:
        search.relax()
        progress(0.5)
        search.buy()
        progress(0.9)
        search.tidy()
    except SolverError:
        search.method += "; the linear programme gave up"
    return Answer(search.best, min(search.bound, search.cost), search.method)
