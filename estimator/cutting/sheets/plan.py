"""Rectangles cut from sheets by straight cuts, at the least cost that a search of many starts finds.

The search fills sheets greedily from many orders of the pieces and keeps the cheapest plan; the bound says
how far from perfect it can be at most. Kerf is taken up by growing every piece and every sheet by one kerf:
two pieces a kerf apart are then two grown pieces that touch.
"""

from collections import defaultdict
from collections.abc import Sequence
from decimal import Decimal

from estimator.core.errors import InputError, Problem
from estimator.core.units import Nm, format_length
from estimator.cutting.plans import CutSheet, Placed, Rectangle, SheetPiece, SheetPlan, SheetStock
from estimator.cutting.sheets.bounds import sheet_cost_bound
from estimator.cutting.sheets.search import Cut, Kind, Progress, Task, cost_of, search


def fits(piece: SheetPiece, stock: SheetStock) -> bool:
    """Return whether a piece fits a sheet, turned if it may be."""
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
        elif stocks and not any(fits(piece, stock) for stock in stocks):
            fix = "Add a larger sheet, or split the piece."
            problems.append(Problem(f"piece {piece.name}", f"{size} is larger than any sheet", fix))
    if problems:
        raise InputError(problems)


def _sheet(task: Task, cut: Cut, waiting: dict[int, list[SheetPiece]]) -> CutSheet:
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


def _task(pieces: Sequence[SheetPiece], stocks: Sequence[SheetStock], kerf: Nm) -> Task:
    counts: dict[Kind, int] = defaultdict(int)
    for piece in pieces:
        counts[_kind(piece, kerf)] += 1
    kinds = tuple(sorted(counts, reverse=True))
    return Task(kinds, tuple(counts[kind] for kind in kinds), tuple(stocks), kerf)


def _kind(piece: SheetPiece, kerf: Nm) -> Kind:
    return piece.width + kerf, piece.height + kerf, piece.may_turn


def plan_sheets(
    pieces: Sequence[SheetPiece],
    stocks: Sequence[SheetStock],
    kerf: Nm,
    progress: Progress | None = None,
    *,
    starts: int = 0,
    floor: Decimal | None = None,
) -> SheetPlan:
    """Return every piece on a sheet, by straight cuts, at the least cost found.

    Args:
        pieces: the rectangles wanted.
        stocks: the sheets that can be bought.
        kerf: width of the saw cut, 0 or more.
        progress: told the share of the work done, from 0 to 1.
        floor: a cost that no plan goes below, where that is known; worked out otherwise.
        starts: how many orders of the pieces are tried; 0 for as many as their number allows.

    Raises:
        InputError: a piece that fits no sheet, a size or kerf that is none, or too few sheets.
    """
    _checked(pieces, stocks, kerf)
    if not pieces:
        return SheetPlan((), kerf, Decimal(0), Decimal(0), proven=True, method="nothing to cut")
    task = _task(pieces, stocks, kerf)
    sizes = [(w - kerf, h - kerf, t, n) for (w, h, t), n in zip(task.kinds, task.counts, strict=True)]
    bound = sheet_cost_bound(sizes, stocks, kerf) if floor is None else floor
    cuts = search(task, bound, starts, progress)
    waiting: dict[int, list[SheetPiece]] = defaultdict(list)
    index = {kind: number for number, kind in enumerate(task.kinds)}
    for piece in reversed(pieces):
        waiting[index[_kind(piece, kerf)]].append(piece)
    sheets = tuple(_sheet(task, cut, waiting) for cut in cuts for _ in range(cut.times))
    cost = cost_of(cuts)
    return SheetPlan(sheets, kerf, cost, bound, proven=cost <= bound, method="straight cuts, many starts")
