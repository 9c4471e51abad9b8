"""Invented lists to cut, the same each time: stick jobs as shops have them, and the published classes."""

import random
from collections.abc import Iterator
from decimal import Decimal
from typing import NamedTuple

from estimator.core.units import INCH, MM, Nm
from estimator.cutting.plans import RollPiece, StickPiece, StickStock

SHOP_JOBS = 120
FEET = ((8, "4.38"), (10, "5.72"), (12, "7.15"), (14, "8.49"), (16, "9.88"))
METRIC = ((2400, "5.15"), (3000, "6.39"), (3600, "7.85"), (4200, "9.05"), (4800, "10.60"))


class StickJob(NamedTuple):
    """What `plan_sticks` is asked; an optimum where it is known."""

    name: str
    pieces: tuple[StickPiece, ...]
    stocks: tuple[StickStock, ...]
    kerf: Nm = 0
    end_trim: Nm = 0
    optimum: int | None = None


def named(lengths: list[Nm]) -> tuple[StickPiece, ...]:
    """Return a piece a length."""
    return tuple(StickPiece(f"p{at}", length) for at, length in enumerate(lengths))


def shop_job(seed: int) -> StickJob:
    """Return a job of 6 to 100 pieces: a few lengths often and some once, in inches or metric or mixed."""
    draw = random.Random(f"shop {seed}")  # noqa: S311 - an invented list, nothing secret
    metric_pieces, metric_sticks = draw.choice([(False, False), (False, False), (True, True), (True, False)])
    step = MM if metric_pieces else INCH // draw.choice([4, 16, 64])
    shortest, longest = 100 * MM, draw.choice([900, 1500, 2300]) * MM
    count = draw.randint(6, 100)
    sizes = [draw.randint(shortest // step, longest // step) * step for _ in range(draw.randint(2, count))]
    lengths = [draw.choice(sizes) for _ in range(count)]
    stocks = []
    for at, (size, price) in enumerate(draw.sample(METRIC if metric_sticks else FEET, draw.randint(1, 4))):
        length = size * MM if metric_sticks else size * 12 * INCH
        limit = draw.randint(1, 12) if at and draw.random() < 0.25 else None
        stocks.append(StickStock(f"{size}", length, Decimal(price), limit))
    kerf = 3 * MM if metric_sticks else INCH // 8
    return StickJob(f"shop {seed}", named(lengths), tuple(stocks), kerf, draw.choice([0, 0, kerf * 4]))


def uniform(count: int, seed: int) -> StickJob:
    """Return a job in the manner of the published class u: lengths from 20 to 100 on sticks of 150."""
    draw = random.Random(f"u {count} {seed}")  # noqa: S311 - as above
    lengths = [draw.randint(20, 100) for _ in range(count)]
    return StickJob(f"u{count}-{seed}", named(lengths), (StickStock("stick", 150, Decimal(1)),))


def triplets(count: int, seed: int) -> StickJob:
    """Return a job in the manner of the published class t: three pieces fill each stick of 1000 exactly."""
    draw, lengths = random.Random(f"t {count} {seed}"), list[int]()  # noqa: S311 - as above
    for _ in range(count // 3):
        first = draw.randint(380, 490)
        second = draw.randint(250, (1000 - first) // 2)
        lengths += [first, second, 1000 - first - second]
    stocks = (StickStock("stick", 1000, Decimal(1)),)
    return StickJob(f"t{count}-{seed}", named(lengths), stocks, optimum=count // 3)


def published_classes(each: int = 20) -> Iterator[StickJob]:
    """Yield jobs of the sizes that E. Falkenauer (1996) has, `each` of every size."""
    for seed in range(each):
        yield from (uniform(count, seed) for count in (120, 250, 500, 1000))
        yield from (triplets(count, seed) for count in (60, 120, 249, 501))


def cloth_job(seed: int) -> tuple[tuple[RollPiece, ...], Nm, Nm]:
    """Return pieces of cloth as walls have them, the roll's width and the pattern's repeat."""
    draw = random.Random(f"cloth {seed}")  # noqa: S311 - as above
    width = draw.choice([54 * INCH, 66 * INCH, 1400 * MM])
    heights = [draw.randint(600, 2600) * MM for _ in range(draw.randint(1, 4))]
    turn = draw.random() < 0.5
    pieces = []
    for at in range(draw.randint(3, 60)):
        across = draw.randint(200 * MM // (INCH // 16), width // (INCH // 16)) * (INCH // 16)
        pieces.append(RollPiece(f"c{at}", across, draw.choice(heights), turn))
    return tuple(pieces), width, draw.choice([1, 1, 1, 100 * MM])
