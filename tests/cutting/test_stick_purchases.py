"""Numbers of sticks: the cheapest that the rules allow, and no true plan's are ruled out."""

import random
from decimal import Decimal
from itertools import product

import numpy as np
import pytest

from estimator.cutting.plans import StickStock
from estimator.cutting.sticks.case import Case, Cut, make_case
from estimator.cutting.sticks.columns import Columns, valued
from estimator.cutting.sticks.purchases import Purchases
from estimator.cutting.sticks.sequence import plans
from estimator.cutting.sticks.solver import mixed, patterns_within


def case_of(seed: int, limit: int | None = None) -> Case:
    draw = random.Random(seed)  # noqa: S311 - an invented list
    stocks = [
        StickStock("a", 100, Decimal(draw.randint(40, 50))),
        StickStock("b", 150, Decimal(draw.randint(60, 75)), limit),
        StickStock("c", 200, Decimal(draw.randint(80, 100))),
    ]
    return make_case([draw.randint(10, 90) for _ in range(20)], stocks, 1, 0)


def quick(case: Case) -> Cut:
    return next(plans(case, Cut(), case.heavy.astype(float), 1))


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("limit", [None, 2])
def test_counts_come_cheapest_first_and_none_is_missed(seed: int, limit: int | None) -> None:
    case = case_of(seed, limit)
    rule, high = valued(case, case.heavy).rule(case), case.cost(quick(case)) + 1
    purchases, found = Purchases(case, [rule]), list[tuple[int, ...]]()
    while (sticks := purchases.cheapest(high)) is not None:
        found.append(sticks)
        purchases.too_few.append(sticks)
    allowed = [
        sticks
        for sticks in product(range(25), repeat=3)
        if purchases.cost(sticks) < high
        and float(rule @ np.array(sticks)) >= 1
        and (limit is None or sticks[1] <= limit)
    ]
    costs = [purchases.cost(sticks) for sticks in found]
    assert costs == sorted(costs)
    # Set aside are also those within numbers set aside before, which cost no more.
    assert all(any(all(a <= b for a, b in zip(s, f, strict=True)) for f in found) for s in allowed)
    assert set(found) <= set(allowed)


@pytest.mark.parametrize("seed", range(6))
def test_the_rules_of_the_programme_never_rule_out_a_plan(seed: int) -> None:
    case = case_of(seed)
    cut = quick(case)
    columns = Columns(case, case.cost(cut))
    _, worths = columns.generate()
    bought = np.array([sum(n for p, n in cut.items() if p.stock == stock) for stock in range(3)])
    assert float(worths.rule(case) @ bought) >= 1
    assert case.left(cut)[0].tolist() == [0] * len(case.weights)


def test_a_mix_of_every_pattern_decides() -> None:
    # Three pieces of 60 on sticks of 100: two sticks are too few, three do, whatever the material says.
    case = make_case([60, 60, 60], [StickStock("s", 100, Decimal(1))], 0, 0)
    worths = valued(case, case.heavy)
    for sticks, enough in (((2,), False), ((3,), True)):
        patterns = patterns_within(case, worths, sticks, 100)
        assert patterns is not None
        cut, none = mixed(case, patterns, sticks, 100)
        assert (cut is not None, none) == (enough, not enough)
