"""Among plans of the same cost: the one with fewer different patterns."""

from collections.abc import Sequence

import highspy
import numpy as np

from estimator.cutting.sticks.budget import run_within
from estimator.cutting.sticks.case import Case, Cut, Pattern
from estimator.cutting.sticks.duals import Duals
from estimator.cutting.sticks.master import column, quiet_highs
from estimator.cutting.sticks.patterns import patterns_within

_FEW_ITEMS = 30
_MOST_OF_FEW, _MOST_OF_MANY = 60, 35
MOST_TIDIED = 60
_NODES, _CHECKS = 10, 60
_MOST_LISTED = 20_000


def _uses(case: Case, pattern: Pattern) -> int:
    """Return how often `pattern` can be cut without a piece too many."""
    return min(case.demand[item] // count for item, count in pattern.counts)


def _likeliest(case: Case, patterns: Sequence[Pattern], duals: Duals) -> list[Pattern]:
    """Return the patterns that cost least above what they are worth and can be cut most often."""

    def dues(pattern: Pattern) -> tuple[int, int]:
        worth = sum(int(duals.worth[item]) * count for item, count in pattern.counts)
        return case.costs[pattern.stock] * duals.scale - worth, -_uses(case, pattern)

    return sorted(patterns, key=lambda p: (*dues(p), p))[
        : _MOST_OF_FEW if len(case.weights) <= _FEW_ITEMS else _MOST_OF_MANY
    ]


def _model(case: Case, patterns: Sequence[Pattern], cost: int) -> highspy.Highs:
    """Return the model: how often each pattern is cut, whether at all, at no more than `cost`."""
    highs, items, size = quiet_highs(), len(case.weights), len(patterns)
    none = (np.array([], np.int32), np.array([]))
    for wanted in case.demand:
        highs.addRow(float(wanted), float(wanted), 0, *none)
    for limit in case.limits:
        highs.addRow(-highspy.kHighsInf, highspy.kHighsInf if limit is None else float(limit), 0, *none)
    last = items + len(case.costs)
    highs.addRow(-highspy.kHighsInf, float(cost), 0, *none)
    for at, pattern in enumerate(patterns):
        highs.addRow(-highspy.kHighsInf, 0.0, 0, *none)
        rows, values = column(case, pattern)
        rows = np.append(rows, np.array([last, last + 1 + at], np.int32))
        values = np.append(values, [float(case.costs[pattern.stock]), 1.0])
        highs.addCol(0.0, 0.0, float(_uses(case, pattern)), len(rows), rows, values)
    for at, pattern in enumerate(patterns):
        row = np.array([last + 1 + at], np.int32)
        highs.addCol(1.0, 0.0, 1.0, 1, row, np.array([-float(_uses(case, pattern))]))
    kinds = np.array([highspy.HighsVarType.kInteger] * (2 * size))
    highs.changeColsIntegrality(2 * size, np.arange(2 * size, dtype=np.int32), kinds)
    return highs


def fewer_patterns(case: Case, cut: Cut, duals: Duals, known: Sequence[Pattern], *, deep: bool) -> Cut:
    """Return a plan of the same cost with fewer patterns, `cut` where none was found.

    Args:
        case: the job.
        cut: the plan.
        duals: duals of the job, which say what patterns a plan of this cost can use.
        known: patterns to try where there are too many of those to list.
        deep: search longer.
    """
    cost = case.cost(cut)
    if len(case.weights) > MOST_TIDIED or len(cut) < 2:  # noqa: PLR2004 - one pattern is the fewest
        return cut
    listed = patterns_within(case, [duals], cost + 1, full=False, most=_MOST_LISTED)
    patterns = list(dict.fromkeys([*cut, *_likeliest(case, listed or known, duals)]))
    highs = _model(case, patterns, cost)
    start = highspy.HighsSolution()
    times = [float(cut.get(pattern, 0)) for pattern in patterns]
    start.col_value = [*times, *(float(t > 0) for t in times)]
    highs.setSolution(start)
    highs.setOptionValue("mip_max_nodes", _NODES)
    highs.setOptionValue("mip_abs_gap", 0.99)
    highs.setOptionValue("mip_allow_restart", False)  # noqa: FBT003 - the library's way
    run_within(highs, _CHECKS, deep=deep)
    if highs.getInfo().primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
        return cut
    often = np.rint(np.array(highs.getSolution().col_value)[: len(patterns)]).astype(int)
    found = {pattern: int(n) for pattern, n in zip(patterns, often, strict=True) if n > 0}
    return found if len(found) < len(cut) and _does(case, found, cost) else cut


def _does(case: Case, cut: Cut, cost: int) -> bool:
    made, sticks = [0] * len(case.weights), [0] * len(case.costs)
    for pattern, times in cut.items():
        sticks[pattern.stock] += times
        for item, count in pattern.counts:
            made[item] += count * times
    within = all(limit is None or n <= limit for n, limit in zip(sticks, case.limits, strict=True))
    return within and tuple(made) == case.demand and case.cost(cut) <= cost
