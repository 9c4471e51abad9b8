"""Plans with a given number of sticks of each stock, the cheapest numbers first.

With several stocks at several prices the cost is a sum of whole counts, and the linear program's fractional
counts hide that. So counts are tried one after another: either the linear program rules them out, and much
like them, or a plan with just these counts is the best, or they are left undecided.
"""

from estimator.cutting.sticks.case import Case, Cut
from estimator.cutting.sticks.columns import Columns, Relaxation
from estimator.cutting.sticks.dive import MANNERS, Lift, dive
from estimator.cutting.sticks.fill import fill
from estimator.cutting.sticks.purchases import Purchases

_TRIES = 60
_TRY_ITEMS = 6_000
_DIVES = 16
_DIVE_ITEMS = 1_200
_FILLS = 6
_CHOICES, _MANY_CHOICES = 3, 8
_STRIDE = 3
_CLIMB_CHOICES = 2
_CLIMB = (64, 32, 16, 8, 4, 2)


def fill_cheapest(columns: Columns, purchases: Purchases, best: Cut, tried: set[tuple[int, ...]]) -> Cut:
    """Return a plan on the first few counts not yet `tried`, `best` where none is cheaper."""
    case = columns.case
    if purchases.cheapest(case.cost(best)) is None:
        return best
    for at, sticks in enumerate(purchases.rows[:_FILLS].tolist()):
        if columns.tired:
            return best
        if tuple(sticks) in tried:
            continue
        tried.add(tuple(sticks))
        found = fill(case, case.demand, sticks, columns.work, 1 if at else _MANY_CHOICES)
        if found is not None and case.cost(found) < case.cost(best):
            return found
    return _climb(columns, purchases, best, tried)


def _climb(columns: Columns, purchases: Purchases, best: Cut, tried: set[tuple[int, ...]]) -> Cut:
    """Return a plan made by filling sticks of dearer counts, nearer and nearer to the cost of `best`."""
    case, high = columns.case, columns.case.cost(best)
    low = purchases.bound(high)
    for share in _CLIMB:
        sticks = purchases.above(low + (high - low) // share).cheapest(high)
        if columns.tired or sticks is None:
            return best
        if sticks in tried:
            continue
        tried.add(sticks)
        found = fill(case, case.demand, sticks, columns.work, _CLIMB_CHOICES)
        if found is not None and case.cost(found) < high:
            return found
    return best


class Counting:
    """Goes through the counts of sticks with the linear program."""

    def __init__(self, case: Case, columns: Columns, purchases: Purchases, lift: Lift, best: Cut) -> None:
        self.case, self.columns, self.purchases = case, columns, purchases
        self.lift, self.best = lift, best
        items = len(case.weights)
        self.tries = max(4, min(_TRIES, _TRY_ITEMS // items))
        self.dives = max(4, min(_DIVES, _DIVE_ITEMS // items))

    def _try(self, sticks: tuple[int, ...]) -> bool:
        """Rule out `sticks`, or look for a plan with them; return whether they are left undecided."""
        ask = self.case.ask_for(sticks)
        cost = self._price(sticks)
        self.columns.master.ask(ask)
        start = self.columns.generate(ask, lambda low, _: low > cost)
        start = self.columns.refine(ask, start, lambda low, value: low > cost or value <= cost)
        if start.duals.bound > cost:
            self.purchases.rule_out(start.duals)
            return False
        found = fill(self.case, self.case.demand, sticks, self.columns.work, _CHOICES)
        if found is not None and self.case.cost(found) < self.case.cost(self.best):
            self.best = found
        for manner in MANNERS:
            if self.case.cost(self.best) > cost and self.dives > 0 and not self.columns.tired:
                self.dives -= 1
                self.best = dive(self.columns, ask, start, self.best, self.lift, manner)
        return self.case.cost(self.best) > cost

    def _price(self, sticks: tuple[int, ...]) -> int:
        return sum(n * cost for n, cost in zip(sticks, self.case.costs, strict=True))

    def run(self, root: Relaxation) -> Cut:
        """Return the best plan met; where counts are too many to list, try those near the ones of `root`."""
        for _ in range(self.tries):
            high = self.case.cost(self.best)
            sticks = self.purchases.cheapest(high)
            if sticks is None or self.columns.tired:
                break
            undecided = self._try(sticks)
            high = self.case.cost(self.best)
            if undecided or self.purchases.cheapest(high) == sticks:
                cost = self._price(sticks)
                self.purchases.set_aside()
                self.purchases.skip(cost + (high - cost) // _STRIDE)
        if self.purchases.full:
            self._try_near(root)
        self.columns.master.ask(self.case.ask())
        return self.best

    def _try_near(self, root: Relaxation) -> None:
        middle = [0.0] * len(self.case.costs)
        for pattern, times in zip(self.columns.master.patterns, root.times, strict=False):
            middle[pattern.stock] += times
        whole, tried = [round(n) for n in middle], set[tuple[int, ...]]()
        for _ in range(self.tries):
            near = self.purchases.near(whole, self.case.cost(self.best))
            sticks = next((sticks for sticks in near if sticks not in tried), None)
            if sticks is None or self.columns.tired:
                break
            tried.add(sticks)
            self._try(sticks)
        self.purchases.list_again(self.lift(root.duals.bound))
