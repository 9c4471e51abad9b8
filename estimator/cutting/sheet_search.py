"""Filling sheets from many orders of the pieces, and keeping the cheapest plan."""

import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TypeAlias

from estimator.core.errors import InputError, Problem
from estimator.core.units import Nm
from estimator.cutting.guillotine import SPLITS, Filling, Option, Region, Split, fill, options_of
from estimator.cutting.plans import SheetStock

Progress: TypeAlias = Callable[[float], None]
"""Told the share of the work done, from 0 to 1, as a search goes on."""

_WORK = 1_500_000
_MOST_STARTS = 200
_SEED = 20011

Kind: TypeAlias = tuple[Nm, Nm, bool]


@dataclass(frozen=True, slots=True)
class Cut:
    """A pattern of one sheet, cut `times` times."""

    stock: SheetStock
    filling: Filling
    times: int


@dataclass(frozen=True, slots=True)
class Task:
    """What is to be cut: sizes grown by the kerf."""

    kinds: tuple[Kind, ...]
    counts: tuple[int, ...]
    stocks: tuple[SheetStock, ...]
    kerf: Nm

    def region(self, stock: SheetStock) -> Region:
        return Region(0, 0, stock.width + self.kerf, stock.height + self.kerf)


def _short_of_sheets() -> InputError:
    fix = "Raise a sheet's limit, or add another sheet."
    return InputError([Problem("sheet", "not enough sheets within their limits for every piece", fix)])


def _pattern(task: Task, order: Sequence[Option], left: list[int], used: dict[str, int], split: Split) -> Cut:
    """Return the sheet that lays most for its price, or the cheapest that takes all that is left."""
    best: tuple[bool, Decimal, Cut] | None = None
    for stock in task.stocks:
        room = None if stock.limit is None else stock.limit - used[stock.key]
        if room == 0:
            continue
        rest = left.copy()
        filling = fill(task.region(stock), order, rest, split)
        if not filling.laid:
            continue
        taken = [before - after for before, after in zip(left, rest, strict=True)]
        times = min(have // need for have, need in zip(left, taken, strict=True) if need)
        done = not any(rest)
        rating = stock.price if done else stock.price / filling.area
        cut = Cut(stock, filling, times if room is None else min(times, room))
        if best is None or (not done, rating) < best[:2]:
            best = (not done, rating, cut)
    if best is None:
        raise _short_of_sheets()
    return best[2]


def _packed(task: Task, order: Sequence[Option], split: Split) -> list[Cut]:
    """Return one whole plan, the pieces taken in `order`."""
    left, used = list(task.counts), dict.fromkeys((s.key for s in task.stocks), 0)
    cuts: list[Cut] = []
    while any(left):
        cut = _pattern(task, order, left, used, split)
        for piece in cut.filling.laid:
            left[piece.kind] -= cut.times
        used[cut.stock.key] += cut.times
        cuts.append(cut)
    return cuts


def cost_of(cuts: Sequence[Cut]) -> Decimal:
    return sum((cut.stock.price * cut.times for cut in cuts), Decimal(0))


def _worth(cuts: Sequence[Cut]) -> tuple[Decimal, int, int]:
    """Return what is to be least: cost, sheets, then minus the largest leftover."""
    largest = max((r.width * r.height for cut in cuts for r in cut.filling.spare), default=0)
    return cost_of(cuts), sum(cut.times for cut in cuts), -largest


def _orders(options: Sequence[Option], number: int) -> list[list[Option]]:
    """Return `number` orders of the options: the usual ones first, then those with their sizes blurred."""
    keys: list[Callable[[Option], int]] = [
        lambda o: o.width * o.height,
        lambda o: max(o.width, o.height),
        lambda o: o.height,
        lambda o: o.width,
        lambda o: o.width + o.height,
    ]
    orders = [sorted(options, key=lambda o, k=key: (-k(o), o)) for key in keys]  # type: ignore[misc]
    chance = random.Random(_SEED)  # noqa: S311 - a search, not a secret
    while len(orders) < number:
        blur = chance.choice((0.1, 0.3, 0.6))
        key = chance.choice(keys)
        weights = {o: key(o) * (1 + blur * chance.uniform(-1, 1)) for o in options}
        orders.append(sorted(options, key=lambda o, w=weights: -w[o]))  # type: ignore[misc]
    return orders[:number]


def search(task: Task, bound: Decimal, starts: int = 0, progress: Progress | None = None) -> list[Cut]:
    """Return the best plan of `starts` starts, or of as many as the size of the task allows."""
    options = options_of(task.kinds)
    effort = min(sum(task.counts), 50 * len(options)) * len(options) * len(task.stocks)
    starts = starts or max(2, min(_MOST_STARTS, _WORK // max(1, effort)))
    best: list[Cut] | None = None
    orders = _orders(options, -(-starts // len(SPLITS)))
    for step in range(starts):
        split, order = SPLITS[step % len(SPLITS)], orders[step // len(SPLITS)]
        cuts = _packed(task, order, split)
        if best is None or _worth(cuts) < _worth(best):
            best = cuts
        if progress:
            progress((step + 1) / starts)
        if cost_of(best) <= bound:
            break
    return best or []
