"""The exact step: every pattern that a cheaper plan can use, and the best whole mix of them.

On given sticks, what the pieces are worth leaves so much to spare in all; a pattern that is worth less than
its stick by more than that is in no plan. What is left is often few enough for an integer programme: a proof.
"""

from collections.abc import Sequence

import numpy as np

from estimator.cutting.knapsack import tails
from estimator.cutting.programme import INFINITY, Programme
from estimator.cutting.sticks.case import Case, Cut, Pattern
from estimator.cutting.sticks.columns import Worths, lines_of
from estimator.cutting.sticks.purchases import Sticks


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
