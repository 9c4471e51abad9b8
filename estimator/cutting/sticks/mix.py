"""The integer program over patterns at hand: which whole mix of them covers what is wanted most cheaply."""

from collections.abc import Sequence
from dataclasses import dataclass

import highspy
import numpy as np

from estimator.cutting.sticks.budget import run_within
from estimator.cutting.sticks.case import Ask, Case, Cut, Pattern
from estimator.cutting.sticks.master import column, quiet_highs

_CHECKS, _CHECKS_OF_SEVERAL = 200, 70
_DONE = (highspy.HighsModelStatus.kOptimal, highspy.HighsModelStatus.kObjectiveTarget)
_NO_ROWS = np.array([], np.int32)
_NO_VALUES = np.array([], np.float64)


@dataclass(frozen=True, slots=True)
class Mix:
    """The answer.

    Attributes:
        cut: a cheaper mix, trimmed to the pieces wanted; None where none was found.
        bound: no mix of these patterns costs less than this.
        work: what it took, about a nanosecond each.
    """

    cut: Cut | None
    bound: int
    work: int


def trimmed(case: Case, cut: Cut, demand: Sequence[int]) -> Cut:
    """Return `cut` without the pieces too many, each stick of the cheapest stock that then holds it.

    Only moves to an equal or cheaper stock without a limit, so no limit is broken.
    """
    surplus = [-wanted for wanted in demand]
    for pattern, times in cut.items():
        for item, count in pattern.counts:
            surplus[item] += count * times
    done: Cut = {}
    for pattern, times in cut.items():
        for _ in range(times):
            kept = []
            for item, count in pattern.counts:
                spare = min(count, surplus[item])
                surplus[item] -= spare
                if count > spare:
                    kept.append((item, count - spare))
            if kept:
                new = Pattern(_smaller(case, pattern.stock, case.weight(kept)), tuple(kept))
                done[new] = done.get(new, 0) + 1
    return done


def _smaller(case: Case, stock: int, weight: int) -> int:
    able = (
        k
        for k, room in enumerate(case.capacities)
        if room >= weight and (k == stock or (case.limits[k] is None and case.costs[k] < case.costs[stock]))
    )
    return min(able, key=lambda k: (case.costs[k], case.capacities[k], k))


def _model(case: Case, patterns: Sequence[Pattern], ask: Ask, below: int) -> highspy.Highs:
    """Return the model: items, then sticks of each stock, then the cost.

    Sticks of each stock are whole variables of their own, so that the search can branch on them; with one
    stock that would only be in the way.
    """
    highs, items, stocks = quiet_highs(), len(case.weights), len(case.costs)
    several = stocks > 1
    for wanted in ask.demand:
        highs.addRow(float(wanted), highspy.kHighsInf, 0, _NO_ROWS, _NO_VALUES)
    for most, least in zip(ask.most, ask.least, strict=True):
        upper = highspy.kHighsInf if most is None else float(most)
        low, high = (0.0, 0.0) if several else (float(least), upper)
        highs.addRow(low, high, 0, _NO_ROWS, _NO_VALUES)
    highs.addRow(-highspy.kHighsInf, below - 1.0 if several else highspy.kHighsInf, 0, _NO_ROWS, _NO_VALUES)
    for pattern in patterns:
        rows, values = column(case, pattern)
        highs.addCol(
            0.0 if several else float(case.costs[0]), 0.0, highspy.kHighsInf, len(rows), rows, values
        )
    for stock, cost in enumerate(case.costs if several else ()):
        most = ask.most[stock]
        rows, values = np.array([items + stock, items + stocks], np.int32), np.array([-1.0, float(cost)])
        upper = highspy.kHighsInf if most is None else float(most)
        highs.addCol(float(cost), float(ask.least[stock]), upper, 2, rows, values)
    size = highs.getNumCol()
    kinds = np.array([highspy.HighsVarType.kInteger] * size)
    highs.changeColsIntegrality(size, np.arange(size, dtype=np.int32), kinds)
    return highs


def mix(case: Case, patterns: Sequence[Pattern], ask: Ask, below: int, nodes: int, goal: int = 0) -> Mix:
    """Return the cheapest whole mix of `patterns` found for `ask`.

    Args:
        case: the job.
        patterns: what may be cut.
        ask: what is wanted.
        below: only mixes cheaper than this count.
        nodes: the most nodes of the search.
        goal: a mix of this cost is good enough.
    """
    highs, several = _model(case, patterns, ask, below), len(case.costs) > 1
    options: dict[str, float | str] = {
        "mip_max_nodes": nodes,
        "mip_rel_gap": 0.0,
        "mip_abs_gap": 0.99,
        "objective_target": goal + 0.5,
    }
    for option, value in options.items():
        highs.setOptionValue(option, value)
    work = run_within(highs, _CHECKS_OF_SEVERAL if several else _CHECKS, deep=not several)
    status, info = highs.getModelStatus(), highs.getInfo()
    if status == highspy.HighsModelStatus.kInfeasible:
        return Mix(None, below, work)
    bound = 0
    if np.isfinite(info.mip_dual_bound):
        bound = int(np.ceil(info.mip_dual_bound - 1e-6 * max(1.0, abs(info.mip_dual_bound))))
    if info.primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
        return Mix(None, min(bound, below), work)
    times = np.rint(np.array(highs.getSolution().col_value)[: len(patterns)]).astype(int)
    cut = {pattern: int(often) for pattern, often in zip(patterns, times, strict=True) if often > 0}
    if not _covers(cut, ask.demand) or case.cost(cut) >= below:
        return Mix(None, min(bound, below), work)
    return Mix(trimmed(case, cut, ask.demand), min(bound, below), work)


def _covers(cut: Cut, demand: Sequence[int]) -> bool:
    made = [0] * len(demand)
    for pattern, times in cut.items():
        for item, count in pattern.counts:
            made[item] += count * times
    return all(have >= wanted for have, wanted in zip(made, demand, strict=True))
