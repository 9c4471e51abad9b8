"""Counts of sticks: those listed are those that cost and hold enough, and no true plan's are ruled out."""

import random
from decimal import Decimal
from itertools import product

import numpy as np
import pytest

from estimator.cutting.plans import StickPiece, StickStock
from estimator.cutting.sticks.budget import Work
from estimator.cutting.sticks.case import Case, make_case
from estimator.cutting.sticks.columns import Columns
from estimator.cutting.sticks.duals import Duals
from estimator.cutting.sticks.fill import fill, free_patterns, fullest
from estimator.cutting.sticks.fit import greedy
from estimator.cutting.sticks.purchases import Purchases


def case_of(seed: int, limit: int | None = None) -> Case:
    draw = random.Random(seed)  # noqa: S311 - an invented list
    pieces = [StickPiece("p", draw.randint(10, 90)) for _ in range(20)]
    stocks = [
        StickStock("a", 100, Decimal(draw.randint(40, 50))),
        StickStock("b", 150, Decimal(draw.randint(60, 75)), limit),
        StickStock("c", 200, Decimal(draw.randint(80, 100))),
    ]
    return make_case(pieces, stocks, 1, 0)


def by_weight(case: Case) -> Duals:
    columns = Columns(case, 10_000)
    rate = columns.scale * case.costs[0] // case.capacities[0]
    return columns.sound(rate * np.array(case.weights, np.int64), case.ask())


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("limit", [None, 2])
def test_counts_are_listed_cheapest_first_and_none_is_missed(seed: int, limit: int | None) -> None:
    case = case_of(seed, limit)
    duals, high = by_weight(case), case.cost(greedy(case, case.demand, case.limits)) + 1
    purchases = Purchases(case, 0)
    purchases.rule_out(duals)
    found = []
    while (sticks := purchases.cheapest(high)) is not None:
        found.append(sticks)
        purchases.set_aside()
    worth = sum(int(w) * d for w, d in zip(duals.worth, case.demand, strict=True))
    most = [cost * duals.scale - slack for cost, slack in zip(case.costs, duals.slack, strict=True)]
    expected = {
        sticks
        for sticks in product(range(25), repeat=3)
        if sum(n * c for n, c in zip(sticks, case.costs, strict=True)) < high
        and sum(n * v for n, v in zip(sticks, most, strict=True)) >= worth
        and (limit is None or sticks[1] <= limit)
    }
    assert set(found) == expected
    assert len(found) == len(expected)
    costs = [sum(n * c for n, c in zip(sticks, case.costs, strict=True)) for sticks in found]
    assert costs == sorted(costs)


@pytest.mark.parametrize("seed", range(6))
def test_a_true_plan_is_never_ruled_out_and_never_below_the_bound(seed: int) -> None:
    case = case_of(seed)
    plan = greedy(case, case.demand, case.limits)
    purchases = Purchases(case, 0)
    purchases.rule_out(by_weight(case))
    assert purchases.bound(case.cost(plan) + 1) <= case.cost(plan)


@pytest.mark.parametrize("seed", range(6))
def test_filled_sticks_hold_every_piece_once(seed: int) -> None:
    case = case_of(seed)
    whole = next(iter(free_patterns(case, Work())))
    sticks = [sum(pattern.stock == stock for pattern in whole) for stock in range(3)]
    sticks[2] += 2
    cut = fill(case, case.demand, sticks, Work())
    assert cut is not None
    made = [0] * len(case.weights)
    for pattern, times in cut.items():
        assert case.weight(pattern.counts) <= case.capacities[pattern.stock]
        for item, count in pattern.counts:
            made[item] += count * times
    assert tuple(made) == case.demand
    for stock, most in enumerate(sticks):
        assert sum(times for pattern, times in cut.items() if pattern.stock == stock) <= most


def test_too_few_sticks_are_not_filled() -> None:
    case = case_of(1)
    assert fill(case, case.demand, [1, 1, 1], Work()) is None


@pytest.mark.parametrize("seed", range(6))
def test_the_fullest_stick_is_the_largest_sum_of_pieces_that_fits(seed: int) -> None:
    case = case_of(seed)
    sums = {0}
    for weight, count in zip(case.weights, case.demand, strict=True):
        for _ in range(count):
            sums |= {total + weight for total in sums}
    assert fullest(case) == [max(s for s in sums if s <= room) for room in case.capacities]
