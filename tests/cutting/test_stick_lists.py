"""Lists to cut beside what they cost before: examples, jobs as shops have them, and the published classes.

`data/stick_costs.csv` holds the cost of each list by the planner of the first edition, which proved all of
them the least: a record to hold on to, not a check from outside.
"""

import csv
import statistics
from decimal import Decimal
from functools import cache
from pathlib import Path

import pytest

from estimator.cli.estimate import estimated
from estimator.cutting.plans import StickPlan
from estimator.cutting.sticks.plan import plan_sticks
from estimator.cutting.verify.sticks import verify_sticks
from tests.cutting.invented_lists import SHOP_JOBS, StickJob, published_classes, shop_job

EXAMPLES = Path(__file__).parents[2] / "examples"
COSTS = Path(__file__).parent / "data" / "stick_costs.csv"


@cache
def costs() -> dict[str, Decimal]:
    with COSTS.open(encoding="utf-8", newline="") as file:
        return {row["list"]: Decimal(row["cost"]) for row in csv.DictReader(file)}


def planned(job: StickJob) -> StickPlan:
    plan = plan_sticks(job.pieces, job.stocks, job.kerf, job.end_trim)
    assert verify_sticks(plan, job.pieces, job.stocks, job.kerf, job.end_trim) == ()
    return plan


@pytest.mark.slow
def test_jobs_of_the_shop_cost_what_they_did_and_are_proven() -> None:
    jobs = [shop_job(seed) for seed in range(SHOP_JOBS)]
    plans = {job.name: planned(job) for job in jobs}
    before = {name: costs()[name] for name in plans}
    assert sum(p.cost for p in plans.values()) <= sum(before.values()) * Decimal("1.001")
    assert all(plan.cost <= before[name] * Decimal("1.006") for name, plan in plans.items())
    assert statistics.mean(plan.proven for plan in plans.values()) >= 0.9


@pytest.mark.parametrize("name", sorted(p.parent.name for p in EXAMPLES.glob("*/job.toml")))
def test_no_list_of_an_example_is_dearer(name: str) -> None:
    estimate, _ = estimated(EXAMPLES / name / "job.toml")
    for option, scope in {"": estimate.scope, **estimate.options}.items():
        for product, plan in scope.plans.sticks.items():
            assert plan.cost <= costs()[f"{name} {option} {product}"]


@pytest.mark.parametrize("job", list(published_classes(each=2)), ids=lambda job: job.name)
def test_the_published_classes_are_proven(job: StickJob) -> None:
    plan = planned(job)
    assert plan.proven
    # By material alone: a stick of 150 or 1000 each, rounded up.
    length = sum(piece.length for piece in job.pieces)
    assert len(plan.sticks) >= -(-length // job.stocks[0].length)
    assert job.optimum in {None, len(plan.sticks)}
