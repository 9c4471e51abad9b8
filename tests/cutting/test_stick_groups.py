"""Lengths in groups: the rounded jobs bracket the true one, and a plan of the longer fits the true pieces."""

from decimal import Decimal

from estimator.cutting.plans import StickPiece, StickStock
from estimator.cutting.sticks.case import make_case
from estimator.cutting.sticks.fit import greedy
from estimator.cutting.sticks.groups import groups, rounded, spread

PIECES = [StickPiece("p", 1000 + 7 * at % 3001) for at in range(4000)]
CASE = make_case(PIECES, [StickStock("s", 12_000, Decimal(1))], 3, 0)


def test_groups_hold_every_item_once() -> None:
    assert [item for run in groups(CASE) for item in run] == list(range(len(CASE.weights)))


def test_rounded_jobs_bracket_the_true_one() -> None:
    longer, shorter = rounded(CASE, up=True), rounded(CASE, up=False)
    assert sum(longer.demand) == sum(shorter.demand) == len(PIECES)
    for at, run in enumerate(groups(CASE)):
        assert all(shorter.weights[at] <= CASE.weights[item] <= longer.weights[at] for item in run)


def test_a_plan_of_the_longer_job_holds_the_true_pieces() -> None:
    longer = rounded(CASE, up=True)
    cut = spread(CASE, greedy(longer, longer.demand, longer.limits))
    made = [0] * len(CASE.weights)
    for pattern, times in cut.items():
        assert CASE.weight(pattern.counts) <= CASE.capacities[pattern.stock]
        for item, count in pattern.counts:
            made[item] += count * times
    assert tuple(made) == CASE.demand
