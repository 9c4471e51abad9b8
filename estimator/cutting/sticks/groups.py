"""Lists of very many lengths: neighbours are taken together, and the bound is that of the true list."""

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from estimator.core.units import Nm
from estimator.cutting.programme import Floats
from estimator.cutting.sticks.case import Case, Pattern
from estimator.cutting.sticks.columns import Columns, valued
from estimator.cutting.sticks.purchases import Purchases
from estimator.cutting.sticks.sequence import longest_first
from estimator.cutting.sticks.solver import Answer, Progress, solve

MOST = 400
"""Lengths that are told apart: a linear programme of as many rows takes a second or two."""

_ENOUGH = 0.005
"""Share by which a plan of such a list may be dearer than its bound: better is not worth the time."""
_NEAR = 0.0015
"""Share by which the bound of such a list may be looser."""


def taken_together(lengths: Sequence[Nm]) -> list[Nm]:
    """Return the lengths, each raised to the longest of its group where there are too many to tell apart."""
    different = sorted(set(lengths))
    if len(different) <= MOST:
        return list(lengths)
    ends = [different[(at + 1) * len(different) // MOST - 1] for at in range(MOST)]
    return [ends[bisect_left(ends, length)] for length in lengths]


def solve_in_groups(true: Case, grouped: Case, progress: Progress) -> tuple[Answer, bool]:
    """Return a plan, the bound of the true list, and whether the plan is one of the true list.

    Args:
        true: the list.
        grouped: the list with lengths taken together, on the same stocks; its sticks hold the true pieces.
        progress: told how far the work is, 0 to 1.
    """
    quick, rule = longest_first(true), valued(true, true.heavy).rule(true)
    cost = true.cost(quick)
    bound = _cheapest(true, [rule], cost)
    if bound < cost * (1 - _ENOUGH):
        bound = _cheapest(true, [rule, _between(true, grouped, cost)], cost)
    if bound < cost * (1 - _ENOUGH):
        answer = solve(grouped, progress)
        if grouped.cost(answer.cut) < cost:
            return replace(answer, bound=bound), False
    return Answer(quick, bound, "longest pieces first"), True


def _between(true: Case, grouped: Case, below: int) -> Floats:
    """Return a rule for the true list: a length between two groups' ends is worth what lies between."""
    ends = np.array([0, *grouped.lengths[::-1]], float)
    shares = np.array(
        [np.interp(true.lengths, ends, np.arange(len(ends)) == at) for at in range(1, len(ends))]
    )
    first = Columns(grouped, below)
    uses, _ = first.generate(_NEAR)
    patterns = [pattern for pattern, use in zip(first.patterns, uses, strict=True) if use > 0]
    columns = Columns(true, below, shares)
    at = {length: item for item, length in enumerate(true.lengths)}
    own = [at[length] for length in grouped.lengths]
    columns.add(Pattern(stock, tuple((own[item], n) for item, n in counts)) for stock, counts in patterns)
    return columns.generate(_NEAR)[1].rule(true)


def _cheapest(case: Case, rules: list[Floats], below: int) -> int:
    """Return the cost of the cheapest numbers of sticks that the rules allow, `below` at most."""
    purchases = Purchases(case, rules)
    sticks = purchases.cheapest(below)
    return below if sticks is None else purchases.cost(sticks)
