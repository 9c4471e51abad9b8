"""Plans made stick after stick: each the one worth most for its price, what wasted much made dearer next.

Source: E. Mukhacheva and others, Pesquisa Operacional 20 (2000) 159-168; G. Belov and G. Scheithauer,
European Journal of Operational Research 171 (2006) 85-106: sequential value correction (from memory).
"""

import random
from collections.abc import Iterator, Sequence

import numpy as np

from estimator.cutting.knapsack import Table, Whole, fill
from estimator.cutting.programme import Floats
from estimator.cutting.sticks.case import Case, Cut

_WORTH = 1 << 30
"""What the dearest item is worth in whole numbers: fine enough that rounding decides nothing."""
_POWER = 1.04
"""A long piece is worth a little more than its share, for short ones fill gaps later (from the source)."""
_LEFT = 0.1
"""Share by which a piece that found no stick is worth more next time (own judgement)."""
_KEEP = (0.5, 0.98)
"""Share of its old worth that an item keeps, drawn anew each time (own judgement, within the source's)."""


def _best_stock(case: Case, table: Table, spare: list[float]) -> int:
    """Return the stock still to be had whose best filling is worth most for its price."""
    worths = [
        (int(table.best[slot]) / max(cost, 1e-9), slot) if left > 0 else (-1.0, slot)
        for slot, cost, left in zip(case.slots, case.costs, spare, strict=True)
    ]
    return max(range(len(worths)), key=lambda k: (*worths[k], -k))


def laid_out(case: Case, begun: Cut, values: Floats) -> tuple[Cut, Floats]:
    """Return a whole plan that goes on from `begun` by the values of the items, and what each came to cost.

    Args:
        case: the job.
        begun: sticks already cut; no piece too many.
        values: of each item, in any unit.
    """
    cut, paid = Cut(begun), np.zeros(len(values))
    wanted, spare = case.left(begun)
    worth = np.maximum(1, np.rint(values * (_WORTH / max(values.max(), 1e-9)))).astype(np.int64)
    strength = case.heavy**_POWER
    while wanted.any():
        table = fill(case.thick, wanted.tolist(), worth, max(case.slots))
        stock = _best_stock(case, table, spare)
        counts = table.counts(case.slots[stock])
        if not spare[stock] or not counts.any():
            break
        if (counts == wanted).all():
            stock = case.smallest(counts, stock, spare)
        times = int(min(spare[stock], (wanted[counts > 0] // counts[counts > 0]).min()))
        cut[case.pattern(stock, counts)] += times
        wanted -= times * counts
        spare[stock] -= times
        paid += times * counts * (strength * case.costs[stock] / (counts * strength).sum())
    return (cut if wanted.any() else shrunk(case, cut)), paid / np.array(case.demand)


def longest_first(case: Case) -> Cut:
    """Return the cheapest of quick plans: of mostly one stock, or of what costs least for its pieces."""
    every = range(len(case.costs))
    ways = [*((stock,) for stock in every), tuple(every)]
    return min((_filled(case, [way, every]) for way in ways), key=case.cost)


def _filled(case: Case, stocks: Sequence[Sequence[int]]) -> Cut:
    """Return a plan of sticks filled with the longest pieces that fit.

    Args:
        case: the job.
        stocks: stocks to choose from; later ones where the longest piece fits none of the first.
    """
    cut, (wanted, spare) = Cut(), case.left(Cut())
    while wanted.any():
        able: list[tuple[float, int, Whole]] = []
        longest = case.weights[int(np.flatnonzero(wanted)[0])]
        for some in stocks:
            for stock in some:
                if spare[stock] > 0 and case.rooms[stock] >= longest:
                    counts = _longest(case, wanted, case.rooms[stock])
                    fitted = case.smallest(counts, stock, spare)
                    able.append((case.costs[fitted] / int(counts @ case.heavy), fitted, counts))
            if able:
                break
        _, stock, counts = min(able, key=lambda one: one[:2])
        times = int(min(spare[stock], (wanted[counts > 0] // counts[counts > 0]).min()))
        cut[case.pattern(stock, counts)] += times
        wanted -= times * counts
        spare[stock] -= times
    return shrunk(case, cut)


def _longest(case: Case, wanted: Whole, room: int) -> Whole:
    """Return the pieces that go into `room`, longest first."""
    counts, at = np.zeros_like(wanted), 0
    while True:
        at = max(at, int(np.searchsorted(-case.heavy, -room)))
        ahead = np.flatnonzero(wanted[at:])
        if not len(ahead):
            return counts
        at += int(ahead[0])
        counts[at] = min(int(wanted[at]), room // case.weights[at])
        room -= int(counts[at]) * case.weights[at]
        at += 1


def shrunk(case: Case, cut: Cut) -> Cut:
    """Return the plan with every stick the cheapest that holds its pieces."""
    spare, done = case.left(cut)[1], Cut()
    for pattern, times in cut.items():
        counts = case.row(pattern)
        for _ in range(times):
            stock = case.smallest(counts, pattern.stock, spare)
            spare[pattern.stock] += 1
            spare[stock] -= 1
            done[pattern._replace(stock=stock)] += 1
    return done


def plans(case: Case, begun: Cut, values: Floats, number: int) -> Iterator[Cut]:
    """Yield plans that go on from `begun`, values corrected after each by what the pieces cost."""
    draw = random.Random(number)  # noqa: S311 - a search, not a secret
    wanted = case.left(begun)[0]
    for _ in range(number if wanted.any() else 1):
        cut, paid = laid_out(case, begun, values)
        left = case.left(cut)[0]
        if not left.any():
            yield cut
        keep = draw.uniform(*_KEEP)
        values = np.where(paid > 0, keep * values + (1 - keep) * paid, values) * (1 + (left > 0) * _LEFT)
