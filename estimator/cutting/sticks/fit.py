"""Quick plans: longest piece first, stick by stick, each of the stock that costs least for what it holds."""

from bisect import bisect_right
from collections.abc import Sequence

from estimator.cutting.sticks.case import Case, Cut, Pattern

Counts = tuple[tuple[int, int], ...]


class _Wanted:
    """The pieces still wanted, by rising weight, so that the longest that fits is found by halving."""

    def __init__(self, case: Case, demand: Sequence[int]) -> None:
        self.weights = case.weights
        self.demand = list(demand)
        self.items = [item for item in range(len(demand) - 1, -1, -1) if demand[item]]
        self.rising = [case.weights[item] for item in self.items]

    def longest_first(self, room: int) -> Counts:
        """Return the (item, count) that go into `room`, longest first."""
        counts, end = [], len(self.items)
        while end and (end := bisect_right(self.rising, room, 0, end)):
            end -= 1
            item = self.items[end]
            count = min(self.demand[item], room // self.rising[end])
            counts.append((item, count))
            room -= count * self.rising[end]
        return tuple(counts)

    def take(self, counts: Counts, times: int) -> None:
        """Take the pieces of `counts`, that many times."""
        for item, count in counts:
            self.demand[item] -= count * times
            if not self.demand[item]:
                at = bisect_right(self.rising, self.weights[item]) - 1
                del self.rising[at], self.items[at]


def cheapest(case: Case, weight: int, left: Sequence[int | None]) -> int:
    """Return the cheapest stock still to be had that holds `weight`."""
    still = (k for k, room in enumerate(case.capacities) if room >= weight and left[k] != 0)
    return min(still, key=lambda k: (case.costs[k], case.capacities[k], k))


def _next_stick(case: Case, wanted: _Wanted, left: Sequence[int | None]) -> Pattern:
    """Return the stick that costs least for the length it yields."""
    choices = []
    for stock, capacity in enumerate(case.capacities):
        counts = wanted.longest_first(capacity) if left[stock] != 0 else ()
        if counts:
            weight = case.weight(counts)
            fitted = cheapest(case, weight, left)
            choices.append((case.costs[fitted] / weight, fitted, counts))
    _, stock, counts = min(choices)
    return Pattern(stock, counts)


def greedy(case: Case, demand: Sequence[int], limits: Sequence[int | None]) -> Cut:
    """Return a plan of `demand` within `limits`.

    Equal sticks are cut together, so a million pieces of few lengths take no longer than a hundred.
    """
    left, wanted = list(limits), _Wanted(case, demand)
    cut: Cut = {}
    while wanted.items:
        pattern = _next_stick(case, wanted, left)
        times = min(wanted.demand[item] // count for item, count in pattern.counts)
        limit = left[pattern.stock]
        if limit is not None:
            times = min(times, limit)
            left[pattern.stock] = limit - times
        wanted.take(pattern.counts, times)
        cut[pattern] = cut.get(pattern, 0) + times
    return cut
