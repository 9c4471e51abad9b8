"""Jobs of thousands of different lengths, taken in groups of nearly equal ones.

Rounded down to the shortest of its group, no piece grows, so a bound of that job is a bound of the true one.
Rounded up to the longest, every plan of that job holds the true pieces.
"""

from collections import deque
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise

from estimator.cutting.sticks.case import Case, Cut, Pattern, cell_of

_GROUPS = 300


def groups(case: Case) -> list[range]:
    """Return the items in runs of nearly equal number, longest first."""
    items = len(case.weights)
    edges = [items * at // _GROUPS for at in range(_GROUPS + 1)]
    return [range(first, last) for first, last in pairwise(edges) if first < last]


def rounded(case: Case, *, up: bool) -> Case:
    """Return the job with every piece as long as the longest of its group, or as the shortest."""
    runs = groups(case)
    chosen = [run[0] if up else run[-1] for run in runs]
    return replace(
        case,
        lengths=tuple(case.lengths[item] for item in chosen),
        weights=tuple(case.weights[item] for item in chosen),
        demand=tuple(sum(case.demand[item] for item in run) for run in runs),
        cell=cell_of(max(case.capacities), len(runs)),
    )


def spread(case: Case, cut: Cut) -> Cut:
    """Return a plan of the job rounded up as one of the true pieces."""
    waiting = [deque((item, case.demand[item]) for item in run) for run in groups(case)]

    def take(group: int, count: int) -> Iterator[tuple[int, int]]:
        while count:
            item, have = waiting[group].popleft()
            used = min(have, count)
            count -= used
            if have > used:
                waiting[group].appendleft((item, have - used))
            yield item, used

    done: Cut = {}
    for pattern, times in cut.items():
        for _ in range(times):
            counts = tuple(entry for group, count in pattern.counts for entry in take(group, count))
            true = Pattern(pattern.stock, counts)
            done[true] = done.get(true, 0) + 1
    return done
