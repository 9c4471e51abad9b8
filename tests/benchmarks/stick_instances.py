"""Run published and invented stick jobs beside a general solver and write docs/validation/sticks.md.

Run: python -m tests.benchmarks.stick_instances

The general solver is CP-SAT of OR-Tools on the plain model: which pieces lie on which stick. It is stopped
after `LIMIT_S` seconds, one thread, so its column depends on the machine; the planner's does not.
"""

import random
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise
from pathlib import Path

from ortools.sat.python import cp_model

from estimator.core.units import INCH, Nm
from estimator.cutting.plans import StickPiece, StickPlan, StickStock
from estimator.cutting.sticks.plan import plan_sticks
from estimator.cutting.verify.sticks import verify_sticks
from tests.benchmarks.stick_kinds import table
from tests.published.test_stick_instances import instances

REPORT = Path(__file__).parents[2] / "docs" / "validation" / "sticks.md"
LIMIT_S = 5.0
MOST_FOR_SOLVER = 600

HEAD = """# Sticks: what the planner reaches

Published: u and t instances of E. Falkenauer, *A hybrid grouping genetic algorithm for bin packing*, Journal
of Heuristics 2 (1996) 5-30, as kept in the OR-Library; a stick costs 1 and the optimum is known. Invented:
`triplets` fill every stick exactly with three pieces, made in the manner of the published t instances, so the
optimum is known as well; `shop` has three stock lengths at three prices and a kerf of 1/8 in; `mixed` has
metric pieces on sticks in inches.

Written by `python -m tests.benchmarks.stick_instances`; every plan was checked by `verify_sticks`, which
shares no code with the planner. The last three columns are CP-SAT of OR-Tools, one thread, stopped after
5 seconds, on the plain model of pieces on sticks; '-' where that model is too large to be worth starting.
Seconds are the planner's processor time (it runs one thread) and CP-SAT's time by the clock, on the machine
that wrote the table, which was shared with other work.

| job | pieces | lengths | optimum | cost | bound | proven | patterns | s | CP-SAT cost | its bound | s |
| --- | ---: | ---: | ---: | ---: | ---: | --- | ---: | ---: | ---: | ---: | ---: |
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
    for count, lengths in ((5000, 60), (5000, 1000), (1_000_000, 60)):
        yield shop(count, lengths, count + lengths, INCH // 64)


def reference(job: Job, most: int) -> tuple[str, str, str]:
    """Return cost, bound and seconds of the general solver, given that `most` sticks of each stock do."""
    model = cp_model.CpModel()
    wanted = Counter(piece.length for piece in job.pieces)
    held: dict[Nm, list[cp_model.IntVar]] = {length: [] for length in wanted}
    costs: list[cp_model.LinearExpr] = []
    for stock in job.stocks:
        sticks = [model.new_bool_var("") for _ in range(most)]
        for used, after in pairwise(sticks):
            model.add_implication(after, used)
        for used in sticks:
            load = []
            for length in wanted:
                count = model.new_int_var(0, min(wanted[length], stock.length // length), "")
                held[length].append(count)
                load.append(count * (length + job.kerf))
            model.add(sum(load) <= (stock.length + job.kerf) * used)
            costs.append(used * int(stock.price * 100))
    for length, counts in held.items():
        model.add(sum(counts) == wanted[length])
    model.minimize(sum(costs))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = LIMIT_S
    solver.parameters.num_workers = 1
    began = time.perf_counter()
    status = solver.solve(model)
    seconds = f"{time.perf_counter() - began:.1f}"
    bound = f"{solver.best_objective_bound / 100:.2f}"
    if status not in {cp_model.OPTIMAL, cp_model.FEASIBLE}:
        return "none", bound, seconds
    return f"{solver.objective_value / 100:.2f}", bound, seconds


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
    other = ("-", "-", "-")
    if len(job.pieces) <= MOST_FOR_SOLVER:
        other = reference(job, len(plan.sticks) + 2)
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
        *other,
    )
    return "| " + " | ".join(map(str, cells)) + " |"


def main() -> None:
    rows = [row(job) for job in jobs()]
    REPORT.parent.mkdir(parents=True, exist_ok=True)
    REPORT.write_text(HEAD + "\n".join(rows) + "\n" + table(), encoding="utf-8")


if __name__ == "__main__":
    main()
