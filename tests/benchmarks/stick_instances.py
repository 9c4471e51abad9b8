"""Run published and invented stick jobs and write docs/validation/sticks.md.

Run: python -m tests.benchmarks.stick_instances
"""

import random
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

from estimator.core.units import INCH, Nm
from estimator.cutting.plans import StickPiece, StickPlan, StickStock
from estimator.cutting.sticks.plan import plan_sticks
from estimator.cutting.verify.sticks import verify_sticks
from tests.benchmarks.stick_kinds import table
from tests.published.test_stick_instances import instances

REPORT = Path(__file__).parents[2] / "docs" / "validation" / "sticks.md"

HEAD = """# Sticks: what the planner reaches

Published: u and t instances of E. Falkenauer, *A hybrid grouping genetic algorithm for bin packing*, Journal
of Heuristics 2 (1996) 5-30, as kept in the OR-Library; a stick costs 1 and the optimum is known. Invented:
`triplets` fill every stick exactly with three pieces, made in the manner of the published t instances, so the
optimum is known as well; `shop` has three stock lengths at three prices and a kerf of 1/8 in; `mixed` has
metric pieces on sticks in inches.

Written by `python -m tests.benchmarks.stick_instances`; every plan was checked by `verify_sticks`, which
shares no code with the planner. Seconds are processor time on the machine that wrote the table, which was
shared with other work. A plan is proven where no plan can cost less than the bound.

| job | pieces | lengths | optimum | cost | bound | proven | patterns | s |
| --- | ---: | ---: | ---: | ---: | ---: | --- | ---: | ---: |
"""


@dataclass(frozen=True, slots=True)
class Job:
    """A job, and its least cost where that is known."""

    name: str
    pieces: tuple[StickPiece, ...]
    stocks: tuple[StickStock, ...]
    kerf: Nm = 0
    optimum: int | None = None


def named(lengths: Sequence[Nm]) -> tuple[StickPiece, ...]:
    return tuple(StickPiece(f"p{at}", length) for at, length in enumerate(lengths))


def triplets(count: int, seed: int) -> Job:
    """Return a job whose pieces fill `count` / 3 sticks of 1000 exactly."""
    draw, lengths = random.Random(seed), list[int]()  # noqa: S311 - an invented list, nothing secret
    for _ in range(count // 3):
        first = draw.randint(380, 490)
        second = draw.randint(250, (1000 - first) // 2)
        lengths += [first, second, 1000 - first - second]
    stocks = (StickStock("stick", 1000, Decimal(1)),)
    return Job(f"triplets {count}-{seed}", named(lengths), stocks, optimum=count // 3)


SHOP = (
    StickStock("8 ft", 96 * INCH, Decimal("4.38")),
    StickStock("10 ft", 120 * INCH, Decimal("5.72")),
    StickStock("12 ft", 144 * INCH, Decimal("7.15")),
)


def shop(count: int, lengths: int, seed: int, step: Nm = INCH // 16, name: str = "shop") -> Job:
    """Return a job of `count` pieces of up to `lengths` lengths from 4 in to 90 in."""
    draw = random.Random(seed)  # noqa: S311 - as above
    sizes = [draw.randint(4 * INCH // step, 90 * INCH // step) * step for _ in range(lengths)]
    chosen = [sizes[at] if at < lengths else draw.choice(sizes) for at in range(count)]
    return Job(f"{name} {count}-{lengths}", named(chosen), SHOP, INCH // 8)


def jobs() -> Iterator[Job]:
    for found in instances():
        stocks = (StickStock("stick", found.stick, Decimal(1)),)
        yield Job(found.name, found.pieces, stocks, optimum=found.optimum)
    for count, seed in ((60, 1), (120, 1), (249, 1), (249, 2), (501, 1), (501, 2)):
        yield triplets(count, seed)
    for count, lengths in ((20, 20), (60, 40), (100, 60), (300, 20), (300, 80), (300, 150), (300, 300)):
        yield shop(count, lengths, count + lengths)
    yield shop(300, 100, 5, 1_000_000, "mixed")
    for count, lengths in ((5000, 60), (5000, 1000)):
        yield shop(count, lengths, count + lengths, INCH // 64)


def planned(job: Job) -> tuple[StickPlan, float]:
    began = time.process_time()
    plan = plan_sticks(job.pieces, job.stocks, job.kerf)
    seconds = time.process_time() - began
    faults = verify_sticks(plan, job.pieces, job.stocks, job.kerf, 0)
    if faults:
        raise SystemExit(f"{job.name}: {faults[0]}")
    return plan, seconds


def row(job: Job) -> str:
    plan, seconds = planned(job)
    lengths = len({piece.length for piece in job.pieces})
    cells = (
        job.name,
        len(job.pieces),
        lengths,
        "" if job.optimum is None else job.optimum,
        f"{plan.cost:.2f}",
        f"{plan.bound:.2f}",
        "yes" if plan.proven else "no",
        plan.patterns,
        f"{seconds:.2f}",
    )
    return "| " + " | ".join(map(str, cells)) + " |"


def main() -> None:
    rows = [row(job) for job in jobs()]
    REPORT.parent.mkdir(parents=True, exist_ok=True)
    REPORT.write_text(HEAD + "\n".join(rows) + "\n" + table(), encoding="utf-8")


if __name__ == "__main__":
    main()
