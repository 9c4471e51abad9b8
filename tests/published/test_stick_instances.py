"""Published one-dimensional instances: each at its optimum, and shown to be.

Source: E. Falkenauer, "A hybrid grouping genetic algorithm for bin packing", Journal of Heuristics 2 (1996)
5-30; instances as kept in the OR-Library of J. E. Beasley. The optimal counts equal the material rounded up.
"""

import csv
from collections import defaultdict
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import NamedTuple

import pytest

from estimator.cutting.plans import StickPiece, StickStock
from estimator.cutting.sticks.plan import plan_sticks
from estimator.cutting.verify.sticks import verify_sticks

FILE = Path(__file__).parent / "data" / "stick_instances.csv"


class Instance(NamedTuple):
    name: str
    stick: int
    optimum: int
    pieces: tuple[StickPiece, ...]


def instances() -> Iterator[Instance]:
    rows = defaultdict(list)
    with FILE.open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            rows[row["instance"], int(row["stock_length"]), int(row["optimal_count"])].append(row)
    for (name, stick, optimum), found in rows.items():
        pieces = [StickPiece(f"{r['piece']}", int(r["piece"])) for r in found for _ in range(int(r["count"]))]
        yield Instance(name, stick, optimum, tuple(pieces))


@pytest.mark.parametrize("instance", list(instances()), ids=lambda found: found.name)
def test_the_published_optimum_is_reached_and_proven(instance: Instance) -> None:
    stocks = [StickStock("stick", instance.stick, Decimal(1))]
    plan = plan_sticks(instance.pieces, stocks, 0)
    assert verify_sticks(plan, instance.pieces, stocks, 0, 0) == ()
    assert len(plan.sticks) == instance.optimum
    assert plan.proven
