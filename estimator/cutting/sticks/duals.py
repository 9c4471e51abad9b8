"""Feasible duals in whole numbers: a bound that never rests on floating point.

Source: A. A. Farley, Operations Research 38 (1990) 922-923 (from memory).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from estimator.cutting.sticks.case import Ask, Case
from estimator.cutting.sticks.knapsack import Whole


@dataclass(frozen=True, slots=True)
class Duals:
    """Feasible duals in whole numbers, `scale` to one unit of cost.

    Attributes:
        worth: of each item.
        slack: of each stock: its cost less the most that one stick of it can be worth; where it is
            negative, what one more stick of a limited stock would save.
        total: the bound they give.
    """

    worth: Whole
    slack: tuple[int, ...]
    total: int
    scale: int

    @property
    def bound(self) -> int:
        """Return the whole cost that no plan goes below."""
        return _ceiling(self.total, self.scale)


def _ceiling(value: int, scale: int) -> int:
    return -(-value // scale)


def feasible(case: Case, worth: Whole, tops: Sequence[int], ask: Ask, scale: int) -> Duals:
    """Return feasible duals made of `worth`, scaled down where a stick could be worth too much.

    Args:
        case: the job.
        worth: of each item, `scale` to one unit of cost.
        tops: the most that one stick of each stock can be worth, or more.
        ask: what is wanted.
        scale: see `worth`.
    """
    top, under = 1, 1
    costs = [cost * scale for cost in case.costs]
    for value, cost, most in zip(tops, costs, ask.most, strict=True):
        if most is None and value * top > cost * under:
            top, under = cost, value
    shrunk = np.array([int(v) * top // under for v in worth], np.int64)
    slack = [cost - _ceiling(v * top, under) for v, cost in zip(tops, costs, strict=True)]
    total = sum(int(v) * d for v, d in zip(shrunk, ask.demand, strict=True))
    for rest, least, most in zip(slack, ask.least, ask.most, strict=True):
        total += rest * least if rest > 0 else rest * (most or 0)
    return Duals(shrunk, tuple(slack), total, scale)
