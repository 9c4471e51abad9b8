"""How many sticks of each stock to buy: the cheapest numbers that nothing known rules out.

Whatever a piece is said to be worth, sticks that hold the list are together worth no less than the list, each
at most what its best filling is worth. Every such set of worths rules out numbers of sticks; the cheapest
that are left are a bound, which is whole by itself.
Source: J. F. Benders, Numerische Mathematik 4 (1962) 238-252 (from memory): cuts from duals.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TypeAlias

import numpy as np

from estimator.cutting.programme import INFINITY, Floats, Programme
from estimator.cutting.sticks.case import Case

Sticks: TypeAlias = tuple[int, ...]
"""How many of each stock."""
_LOOKS = 200
"""Looks at a programme of a handful of columns: more than any has needed."""
_SLACK = 1e-9
"""Share by which a rule is eased, so that rounding rules out nothing that is allowed."""


@dataclass(slots=True)
class Purchases:
    """What is known of the numbers of sticks.

    Attributes:
        rules: what a stick of each stock is worth at most, the whole list being 1.
        too_few: numbers of sticks that no plan keeps within, or within which none is looked for any more.
    """

    case: Case
    rules: list[Floats]
    too_few: list[Sticks] = field(default_factory=list)

    def learn(self, rule: Floats, sticks: Sticks) -> bool:
        """Keep a rule that rules out `sticks`; return whether it does."""
        forbids = float(rule @ np.array(sticks)) < 1 - _SLACK
        if forbids:
            self.rules.append(rule)
        return forbids

    def cheapest(self, below: int, least: int = 0) -> Sticks | None:
        """Return the cheapest numbers that may do, from `least` to less than `below`; None for none."""
        stocks, forks = len(self.case.costs), len(self.too_few)
        lows = [1 - _SLACK] * len(self.rules) + [1.0] * forks + [0.0] * (forks * stocks) + [least - 0.5]
        lines = np.zeros((stocks * (1 + forks), len(lows)))
        lines[:stocks, : len(self.rules)] = np.array(self.rules).T
        lines[:stocks, -1] = self.case.costs
        for at, sticks in enumerate(self.too_few, 1):
            self._fork(lines, at, sticks)
        scale = np.array([max(line.max(), _SLACK) for line in lines.T[: len(self.rules)]])
        lines[:, : len(scale)] /= scale
        lows[: len(scale)] = (lows[: len(scale)] / scale).tolist()
        model = Programme(lows, [*[INFINITY] * (len(lows) - 1), below - 0.5])
        model.add([*self.case.costs, *[0.0] * (stocks * forks)], lines)
        model.bound_columns(np.array([*self._most(below), *[1.0] * (stocks * forks)]))
        found = model.solve_whole(_LOOKS, 0.0).uses
        return None if found is None else tuple(found[:stocks].tolist())

    def _fork(self, lines: Floats, at: int, sticks: Sticks) -> None:
        """Ask for more than `sticks` of some stock: a column a stock says of which, a row that it is one."""
        stocks, rules, forks = len(sticks), len(self.rules), len(self.too_few)
        for stock, number in enumerate(sticks):
            row, column = rules + forks + (at - 1) * stocks + stock, at * stocks + stock
            lines[column, rules + at - 1] = 1.0
            lines[stock, row], lines[column, row] = 1.0, -(number + 1.0)

    def _most(self, below: int) -> Sequence[float]:
        """Return the most sticks of each stock that can be had and paid."""
        pieces = sum(self.case.demand)
        paid = [below // cost if cost else pieces for cost in self.case.costs]
        limits = [math.inf if limit is None else limit for limit in self.case.limits]
        return [float(min(*both)) for both in zip(paid, limits, strict=True)]

    def cost(self, sticks: Sticks) -> int:
        """Return what so many sticks cost."""
        return sum(cost * number for cost, number in zip(self.case.costs, sticks, strict=True))
