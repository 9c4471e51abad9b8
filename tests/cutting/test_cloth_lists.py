"""Invented jobs of cloth beside how long they were before; see `test_stick_lists` for what that can show."""

import csv
from pathlib import Path

import pytest

from estimator.core.units import INCH
from estimator.cutting.rolls.plan import plan_roll
from estimator.cutting.verify.rolls import verify_roll
from tests.cutting.invented_lists import cloth_job

LENGTHS = Path(__file__).parent / "data" / "cloth_lengths.csv"
BOUGHT_BY = 9 * INCH


@pytest.mark.slow
def test_jobs_of_cloth_are_about_as_long_as_they_were() -> None:
    with LENGTHS.open(encoding="utf-8", newline="") as file:
        before = {
            seed: int(row["length_nm"]) for seed, row in enumerate(csv.DictReader(file)) if not seed % 4
        }
    after = []
    for seed, length in before.items():
        pieces, width, step = cloth_job(seed)
        plan = plan_roll(pieces, width, step, bought_by=BOUGHT_BY if seed % 2 else 1)
        assert verify_roll(plan, pieces, width, step) == ()
        assert plan.length <= length * 1.04
        after.append(plan.length)
    assert sum(after) <= sum(before.values()) * 1.01
