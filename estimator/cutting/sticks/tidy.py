"""Among plans on the same sticks: the one with fewer different patterns, each of which the saw is set for."""

from collections.abc import Sequence

import numpy as np

from estimator.cutting.programme import INFINITY, Programme
from estimator.cutting.sticks.case import Case, Cut, Pattern
from estimator.cutting.sticks.columns import Worths, lines_of

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
