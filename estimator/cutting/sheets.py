"""Rectangles cut from sheets by straight cuts, at the least cost that a search of many starts finds.

The search fills sheets greedily from many orders of the pieces and keeps the cheapest plan; the bound says
how far from perfect it can be at most. Kerf is taken up by growing every piece and every sheet by one kerf:
two pieces a kerf apart are then two grown pieces that touch.
"""

import random
from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TypeAlias

from estimator.core.errors import InputError, Problem
from estimator.core.units import Nm, format_length
from estimator.cutting.guillotine import SPLITS, Filling, Option, Region, Split, fill, options_of
from estimator.cutting.plans import CutSheet, Placed, Rectangle, SheetPiece, SheetPlan, SheetStock
from estimator.cutting.sheet_bounds import sheet_cost_bound

Progress: TypeAlias = Callable[[float], None]
"""Told the share of the work done, from 0 to 1, as a search goes on."""

_WORK = 1_500_000
_MOST_STARTS = 200
_SEED = 20011

Kind: TypeAlias = tuple[Nm, Nm, bool]


@dataclass(frozen=True, slots=True)
class _Cut:
    """A pattern of one sheet, cut `times` times."""

    stock: SheetStock
    filling: Filling
    times: int


@dataclass(frozen=True, slots=True)
class _Task:
    """What is to be cut: sizes grown by the kerf."""

    kinds: tuple[Kind, ...]
    counts: tuple[int, ...]
    stocks: tuple[SheetStock, ...]
    kerf: Nm

    def region(self, stock: SheetStock) -> Region:
        return Region(0, 0, stock.width + self.kerf, stock.height + self.kerf)


def _fits(piece: SheetPiece, stock: SheetStock) -> bool:
    straight = piece.width <= stock.width and piece.height <= stock.height
    return straight or (piece.may_turn and piece.height <= stock.width and piece.width <= stock.height)


def _checked(pieces: Sequence[SheetPiece], stocks: Sequence[SheetStock], kerf: Nm) -> None:
    """Refuse what cannot be cut, every problem at once."""
    problems: list[Problem] = []
    if kerf < 0:
        problems.append(Problem("kerf", "negative", "Give the width of the saw cut, 0 or more."))
    if not stocks:
        problems.append(Problem("sheet", "no sheet to cut from", "Give at least one sheet with its price."))
    problems += [
        Problem(f"sheet {stock.key}", "a size, price or limit below zero, or no size", "Check its numbers.")
        for stock in stocks
        if min(stock.width, stock.height) <= 0 or stock.price < 0 or (stock.limit or 0) < 0
    ]
    for piece in {(p.width, p.height, p.may_turn): p for p in reversed(pieces)}.values():
        size = f"{format_length(piece.width)} x {format_length(piece.height)}"
        if min(piece.width, piece.height) <= 0:
            fix = "Give a width and a height greater than 0."
            problems.append(Problem(f"piece {piece.name}", f"{size} is nothing to cut", fix))
        elif stocks and not any(_fits(piece, stock) for stock in stocks):
            fix = "Add a larger sheet, or split the piece."
            problems.append(Problem(f"piece {piece.name}", f"{size} is larger than any sheet", fix))
    if problems:
        raise InputError(problems)


def _short_of_sheets() -> InputError:
    fix = "Raise a sheet's limit, or add another sheet."
    return InputError([Problem("sheet", "not enough sheets within their limits for every piece", fix)])


def _pattern(
    task: _Task, order: Sequence[Option], left: list[int], used: dict[str, int], split: Split
) -> _Cut:
    """Return the sheet that lays most for its price, or the cheapest that takes all that is left."""
    best: tuple[bool, Decimal, _Cut] | None = None
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
        cut = _Cut(stock, filling, times if room is None else min(times, room))
        if best is None or (not done, rating) < best[:2]:
            best = (not done, rating, cut)
    if best is None:
        raise _short_of_sheets()
    return best[2]


def _packed(task: _Task, order: Sequence[Option], split: Split) -> list[_Cut]:
    """Return one whole plan, the pieces taken in `order`."""
    left, used = list(task.counts), dict.fromkeys((s.key for s in task.stocks), 0)
    cuts: list[_Cut] = []
    while any(left):
        cut = _pattern(task, order, left, used, split)
        for piece in cut.filling.laid:
            left[piece.kind] -= cut.times
        used[cut.stock.key] += cut.times
        cuts.append(cut)
    return cuts


def _cost(cuts: Sequence[_Cut]) -> Decimal:
    return sum((cut.stock.price * cut.times for cut in cuts), Decimal(0))


def _worth(cuts: Sequence[_Cut]) -> tuple[Decimal, int, int]:
    """Return what is to be least: cost, sheets, then minus the largest leftover."""
    largest = max((r.width * r.height for cut in cuts for r in cut.filling.spare), default=0)
    return _cost(cuts), sum(cut.times for cut in cuts), -largest


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


def _searched(task: _Task, bound: Decimal, progress: Progress | None) -> list[_Cut]:
    """Return the best plan of as many starts as the size of the task allows."""
    options = options_of(task.kinds)
    effort = min(sum(task.counts), 50 * len(options)) * len(options) * len(task.stocks)
    starts = max(2, min(_MOST_STARTS, _WORK // max(1, effort)))
    best: list[_Cut] | None = None
    orders = _orders(options, -(-starts // len(SPLITS)))
    for step in range(starts):
        split, order = SPLITS[step % len(SPLITS)], orders[step // len(SPLITS)]
        cuts = _packed(task, order, split)
        if best is None or _worth(cuts) < _worth(best):
            best = cuts
        if progress:
            progress((step + 1) / starts)
        if _cost(best) <= bound:
            break
    return best or []


def _sheet(task: _Task, cut: _Cut, waiting: dict[int, list[SheetPiece]]) -> CutSheet:
    kerf, stock = task.kerf, cut.stock
    placed = []
    for piece in cut.filling.laid:
        size = (piece.width - kerf, piece.height - kerf)
        placed.append(Placed(waiting[piece.kind].pop(), piece.x, piece.y, *size))
    offcuts = [
        Rectangle(r.x, r.y, r.width - kerf, r.height - kerf)
        for r in cut.filling.spare
        if r.width > kerf and r.height > kerf
    ]
    return CutSheet(stock, tuple(placed), tuple(offcuts))


def _task(pieces: Sequence[SheetPiece], stocks: Sequence[SheetStock], kerf: Nm) -> _Task:
    counts: dict[Kind, int] = defaultdict(int)
    for piece in pieces:
        counts[_kind(piece, kerf)] += 1
    kinds = tuple(sorted(counts, reverse=True))
    return _Task(kinds, tuple(counts[kind] for kind in kinds), tuple(stocks), kerf)


def _kind(piece: SheetPiece, kerf: Nm) -> Kind:
    return piece.width + kerf, piece.height + kerf, piece.may_turn


def plan_sheets(
    pieces: Sequence[SheetPiece],
    stocks: Sequence[SheetStock],
    kerf: Nm,
    progress: Progress | None = None,
) -> SheetPlan:
    """Return every piece on a sheet, by straight cuts, at the least cost found.

    Args:
        pieces: the rectangles wanted.
        stocks: the sheets that can be bought.
        kerf: width of the saw cut, 0 or more.
        progress: told the share of the work done, from 0 to 1.

    Raises:
        InputError: a piece that fits no sheet, a size or kerf that is none, or too few sheets.
    """
    _checked(pieces, stocks, kerf)
    if not pieces:
        return SheetPlan((), kerf, Decimal(0), Decimal(0), proven=True, method="nothing to cut")
    task = _task(pieces, stocks, kerf)
    sizes = [(w - kerf, h - kerf, t, n) for (w, h, t), n in zip(task.kinds, task.counts, strict=True)]
    bound = sheet_cost_bound(sizes, stocks, kerf)
    cuts = _searched(task, bound, progress)
    waiting: dict[int, list[SheetPiece]] = defaultdict(list)
    index = {kind: number for number, kind in enumerate(task.kinds)}
    for piece in reversed(pieces):
        waiting[index[_kind(piece, kerf)]].append(piece)
    sheets = tuple(_sheet(task, cut, waiting) for cut in cuts for _ in range(cut.times))
    cost = _cost(cuts)
    return SheetPlan(sheets, kerf, cost, bound, proven=cost <= bound, method="straight cuts, many starts")
