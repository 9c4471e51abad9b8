"""Random jobs of 300 pieces by kind: time, proof and gap. `stick_instances` writes the table.

A kind is a unit and how many different lengths there are; each has jobs on 1, 2, 3 and 5 stocks, with a limit
on all but the first stock and without, and with an end trim and without.
"""

import random
import time
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from statistics import median

from estimator.core.units import INCH, MM, Nm
from estimator.cutting.plans import StickPiece, StickPlan, StickStock
from estimator.cutting.sticks.plan import plan_sticks
from estimator.cutting.verify.sticks import verify_sticks

PIECES = 300
SEEDS = (1, 2)
HEAD = """
## Jobs of 300 pieces

Invented at random: lengths in sixteenths of an inch, in millimetres, or in millimetres on sticks and a kerf
in inches; {each} jobs of each kind on 1, 2, 3 and 5 stocks, with and without limits and end trim, pieces up
to half or nearly all of the shortest stick. Processor seconds, and how many times as long as the floor the
middle job takes: the floor lays the same pieces longest first, each on the first stick with room, measured in
the same run ({floor:.1f} ms for the middle job). The gap: cost less bound, in thousandths of
the cost.

| unit | lengths | jobs | middle s | worst s | times the floor | proven | worst gap ‰ |
| --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: |
"""


@dataclass(frozen=True, slots=True)
class Unit:
    """What a kind of job is measured in: lengths from `short` to `long` by `step`, and what can be bought."""

    name: str
    step: Nm
    short: int
    long: int
    kerf: Nm
    trim: Nm
    stocks: tuple[tuple[Nm, str], ...]


_FEET = ((8, "4.38"), (12, "7.15"), (10, "5.72"), (14, "8.49"), (16, "9.88"))
_INCHES = tuple((feet * 12 * INCH, price) for feet, price in _FEET)
_METRIC = ((2400, "5.15"), (3600, "7.85"), (3000, "6.39"), (4200, "9.05"), (4800, "10.60"))
UNITS = (
    Unit("1/16 in", INCH // 16, 64, 1440, INCH // 8, INCH // 2, _INCHES),
    Unit("mm", MM, 100, 2300, 3 * MM, 10 * MM, tuple((mm * MM, price) for mm, price in _METRIC)),
    Unit("mm on inches", MM, 100, 2280, INCH // 8, 10 * MM, _INCHES),
)


@dataclass(frozen=True, slots=True)
class Job:
    """One job."""

    pieces: tuple[StickPiece, ...]
    stocks: tuple[StickStock, ...]
    kerf: Nm
    trim: Nm


@dataclass(frozen=True, slots=True)
class Run:
    """What came of a job: seconds of the planner and of the floor, and the plan."""

    seconds: float
    floor: float
    plan: StickPlan


def job(unit: Unit, lengths: int, stocks: int, *, limited: bool, seed: int) -> Job:
    """Return a job of `PIECES` pieces of up to `lengths` lengths."""
    draw = random.Random(f"{unit.name} {lengths} {stocks} {limited} {seed}")  # noqa: S311 - an invented list
    longest = unit.long if seed % 2 else unit.long * 5 // 9
    sizes = [draw.randint(unit.short, longest) * unit.step for _ in range(lengths)]
    chosen = [sizes[at] if at < lengths else draw.choice(sizes) for at in range(PIECES)]
    bought = []
    for at, (length, price) in enumerate(unit.stocks[:stocks]):
        limit = draw.randint(3, 25) if limited and at else None
        bought.append(StickStock(f"stock {at}", length, Decimal(price), limit))
    pieces = tuple(StickPiece(f"p{at}", length) for at, length in enumerate(chosen))
    return Job(pieces, tuple(bought), unit.kerf, unit.trim if seed % 2 else 0)


def jobs(unit: Unit, lengths: int) -> Iterator[Job]:
    """Yield the jobs of one kind."""
    for stocks in (1, 2, 3, 5):
        for limited in (False, True) if stocks > 1 else (False,):
            for seed in SEEDS:
                yield job(unit, lengths, stocks, limited=limited, seed=seed)


def longest_first(made: Job) -> int:
    """Return how many of the longest sticks the pieces take, longest first, each where there is room."""
    room = max(stock.length for stock in made.stocks) - made.trim + made.kerf
    left: list[Nm] = []
    for piece in sorted(made.pieces, key=lambda piece: -piece.length):
        needed = piece.length + made.kerf
        at = next((at for at, rest in enumerate(left) if rest >= needed), len(left))
        if at == len(left):
            left.append(room)
        left[at] -= needed
    return len(left)


def run(made: Job) -> Run:
    """Plan a job and check the plan."""
    began = time.process_time()
    longest_first(made)
    between = time.process_time()
    plan = plan_sticks(made.pieces, made.stocks, made.kerf, made.trim)
    seconds = time.process_time() - between
    if faults := verify_sticks(plan, made.pieces, made.stocks, made.kerf, made.trim):
        raise SystemExit(str(faults[0]))
    return Run(seconds, between - began, plan)


def row(unit: Unit, lengths: int, runs: list[Run]) -> str:
    """Return the line of one kind."""
    middle = median(r.seconds for r in runs)
    floor = median(r.floor for r in runs)
    gap = max((r.plan.cost - r.plan.bound) / r.plan.cost for r in runs)
    cells = (
        unit.name,
        lengths,
        len(runs),
        f"{middle:.2f}",
        f"{max(r.seconds for r in runs):.2f}",
        f"{middle / floor:.0f}",
        f"{sum(r.plan.proven for r in runs)} of {len(runs)}",
        f"{gap * 1000:.2f}",
    )
    return "| " + " | ".join(map(str, cells)) + " |"


def table() -> str:
    """Return the section on random jobs."""
    kinds = [(unit, lengths) for unit in UNITS for lengths in (20, 60, 150, 300)]
    done = [(*kind, [run(made) for made in jobs(*kind)]) for kind in kinds]
    floor = median(r.floor for *_, runs in done for r in runs) * 1000
    head = HEAD.format(each=len(done[0][2]), floor=floor)
    return head + "\n".join(row(*kind) for kind in done) + "\n"
