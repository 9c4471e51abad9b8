"""Filling sheets from many orders of the pieces, and keeping the cheapest plan."""

import random
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import TypeAlias

from estimator.core.errors import InputError, Problem
from estimator.core.units import Nm
from estimator.cutting.guillotine import SPLITS, Filling, Option, Region, Split, fill, options_of
from estimator.cutting.plans import SheetStock
from estimator.cutting.sheets.spread import spread

Progress: TypeAlias = Callable[[float], None]
"""Told the share of the work done, from 0 to 1, as a search goes on."""

_WORK = 1_500_000
_MOST_STARTS = 120
_MOST_SPREAD = 400
"""Pieces up to which sheets are filled side by side too."""
_REPAIRS = 60
_LEAST_REPAIR = 2
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
        """Return the whole of a sheet."""
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
    while order:
        cut = _pattern(task, order, left, used, split)
        for piece in cut.filling.laid:
            left[piece.kind] -= cut.times
        used[cut.stock.key] += cut.times
        cuts.append(cut)
        order = [option for option in order if left[option.kind]]
    return cuts


def cost_of(cuts: Sequence[Cut]) -> Decimal:
    """Return what the sheets cost."""
    return sum((cut.stock.price * cut.times for cut in cuts), Decimal(0))


def _worth(cuts: Sequence[Cut]) -> tuple[Decimal, int, int]:
    """Return what is to be least: cost, sheets, then minus the largest leftover."""
    largest = max((r.width * r.height for cut in cuts for r in cut.filling.spare), default=0)
    return cost_of(cuts), sum(cut.times for cut in cuts), -largest


def _side_by_side(task: Task, order: Sequence[Option], split: Split, first: int) -> list[Cut] | None:
    """Return a whole plan with the sheets filled side by side, those of stock `first` begun by choice."""
    ways: dict[int, list[Option]] = {}
    for option in order:
        ways.setdefault(option.kind, []).append(option)
    pieces = [way for kind, way in ways.items() for _ in range(task.counts[kind])]
    turned = task.stocks[first:] + task.stocks[:first]
    sheets = spread(pieces, [(stock, task.region(stock)) for stock in turned], split)
    return None if sheets is None else [Cut(sheet.stock, sheet.filling(), 1) for sheet in sheets]


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


def _starts(task: Task, number: int) -> Iterator[list[Cut]]:
    """Return whole plans from many orders: one sheet after another, and the sheets side by side."""
    options = options_of(task.kinds)
    few = sum(task.counts) <= _MOST_SPREAD
    orders = _orders(options, -(-number // len(SPLITS)))
    for step in range(number):
        split, order = SPLITS[step % len(SPLITS)], orders[step // len(SPLITS)]
        yield _packed(task, order, split)
        if few:
            cuts = _side_by_side(task, order, split, step % len(task.stocks))
            if cuts:
                yield cuts


def _cheaper(task: Task, cuts: Sequence[Cut]) -> list[Cut]:
    """Return the plan with each sheet's pieces on the cheapest sheet that takes them all."""
    used: dict[str, int] = {}
    for cut in cuts:
        used[cut.stock.key] = used.get(cut.stock.key, 0) + cut.times
    found = []
    for cut in cuts:
        best = cut
        for stock in task.stocks:
            room = stock.limit is None or used.get(stock.key, 0) + cut.times <= stock.limit
            if stock.price < best.stock.price and room:
                best = _moved(task, cut, stock) or best
        used[cut.stock.key] -= cut.times
        used[best.stock.key] = used.get(best.stock.key, 0) + cut.times
        found.append(best)
    return found


def _moved(task: Task, cut: Cut, stock: SheetStock) -> Cut | None:
    """Return the pieces of a sheet laid on another; None where no order tried lays them all."""
    counts = [0] * len(task.kinds)
    for piece in cut.filling.laid:
        counts[piece.kind] += 1
    options = [o for o in options_of(task.kinds) if counts[o.kind]]
    for order in _orders(options, 8):
        for split in SPLITS:
            filling = fill(task.region(stock), order, left := counts.copy(), split)
            if not any(left):
                return Cut(stock, filling, cut.times)
    return None


def _repaired(task: Task, cuts: list[Cut], bound: Decimal) -> list[Cut]:
    """Return the plan with a few sheets at a time, the emptiest among them, taken apart and cut again."""
    chance = random.Random(_SEED)  # noqa: S311 - a search, not a secret
    best = [Cut(cut.stock, cut.filling, 1) for cut in cuts for _ in range(cut.times)]
    for _ in range(_REPAIRS):
        if cost_of(best) <= bound or len(best) < _LEAST_REPAIR:
            break
        best.sort(key=lambda cut: cut.filling.area)
        some = [0, *chance.sample(range(1, len(best)), min(len(best) - 1, chance.randint(1, 3)))]
        again = _again(task, [best[n] for n in some], chance.randrange(1 << 30))
        kept = [cut for n, cut in enumerate(best) if n not in some]
        if again and _packing(kept + again) < _packing(best):
            best = kept + again
    return best


def _packing(cuts: Sequence[Cut]) -> tuple[Decimal, int]:
    """Return cost, then minus the squares of what is laid: full sheets and one nearly empty are best."""
    return cost_of(cuts), -sum(cut.filling.area**2 for cut in cuts)


def _again(task: Task, cuts: Sequence[Cut], seed: int) -> list[Cut] | None:
    """Return the pieces of a few sheets cut again from the same sheets, in other orders."""
    counts = [0] * len(task.kinds)
    for cut in cuts:
        for piece in cut.filling.laid:
            counts[piece.kind] += 1
    limits: dict[str, int] = {}
    for cut in cuts:
        limits[cut.stock.key] = limits.get(cut.stock.key, 0) + 1
    stocks = tuple(replace(s, limit=limits[s.key]) for s in task.stocks if s.key in limits)
    part = replace(task, counts=tuple(counts), stocks=stocks)
    options = [o for o in options_of(task.kinds) if counts[o.kind]]
    chance = random.Random(seed)  # noqa: S311 - a search, not a secret
    plans = []
    for _ in range(6):
        weights = {o: o.width * o.height * (1 + 0.4 * chance.uniform(-1, 1)) for o in options}
        order = sorted(options, key=lambda o, w=weights: -w[o])  # type: ignore[misc]
        cuts_again = _side_by_side(part, order, chance.choice(SPLITS), 0)
        if cuts_again:
            plans.append(cuts_again)
    if not plans:
        return None
    own = {s.key: s for s in task.stocks}
    best = min(plans, key=_packing)
    return [replace(cut, stock=own[cut.stock.key]) for cut in best]


def search(task: Task, bound: Decimal, starts: int = 0, progress: Progress | None = None) -> list[Cut]:
    """Return the best plan of `starts` starts, or of as many as the size of the task allows."""
    pieces, kinds = sum(task.counts), len(task.kinds)
    effort = min(pieces, 100 * kinds) * 2 * kinds * len(task.stocks)
    number = starts or max(1, min(_MOST_STARTS, _WORK // max(1, effort)))
    best: list[Cut] = []
    for step, cuts in enumerate(_starts(task, number)):
        if not best or _worth(cuts) < _worth(best):
            best = cuts
        if progress:
            progress(min(1.0, (step + 1) / (2 * number)))
        if cost_of(best) <= bound:
            return best
    if starts or pieces > _MOST_SPREAD:
        return best
    return min(best, _repaired(task, _cheaper(task, best), bound), key=_worth)
