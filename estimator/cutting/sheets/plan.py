"""Rectangles cut from sheets by straight cuts, at the least cost that a search finds.

The search piles the pieces on sheets in a few orders and cuts a few sheets at a time again; the bound says
how far from perfect it can be at most. Kerf is taken up by growing every piece and every sheet by one kerf:
two pieces a kerf apart are then two grown pieces that touch.
"""

from collections import Counter, defaultdict
from collections.abc import Sequence
from decimal import Decimal

from estimator.core.errors import InputError, Problem
from estimator.core.units import Nm, format_length
from estimator.cutting.piles import offcuts
from estimator.cutting.plans import MOST_PIECES, CutSheet, Placed, SheetPiece, SheetPlan, SheetStock
from estimator.cutting.sheets.bounds import sheet_cost_bound
from estimator.cutting.sheets.search import Cut, Progress, search


def fits(piece: SheetPiece, stock: SheetStock) -> bool:
    """Return whether a piece fits a sheet, turned if it may be."""
    straight = piece.width <= stock.width and piece.height <= stock.height
    return straight or (piece.may_turn and piece.height <= stock.width and piece.width <= stock.height)


def _checked(pieces: Sequence[SheetPiece], stocks: Sequence[SheetStock], kerf: Nm) -> None:
    """Refuse what cannot be cut, every problem at once."""
    problems: list[Problem] = []
    if kerf < 0:
        problems.append(Problem("kerf", "negative", "Give the width of the saw cut, 0 or more."))
    if len(pieces) > MOST_PIECES:
        problems.append(Problem("pieces", f"more than {MOST_PIECES:,} pieces", "Split the list."))
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


def _sheet(cut: Cut, stock: SheetStock, kerf: Nm, waiting: dict[int, list[SheetPiece]]) -> CutSheet:
    placed = [
        Placed(waiting[laid.kind].pop(), laid.x, laid.y, laid.width - kerf, laid.height - kerf)
        for laid in cut.pile.laid
    ]
    return CutSheet(stock, tuple(placed), offcuts(cut.pile.regions, kerf))


def _no_progress(_: float) -> None:
    return


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
        InputError: a piece that fits no sheet, a size that is none, too many pieces or too few sheets.
    """
    _checked(pieces, stocks, kerf)
    if not pieces:
        return SheetPlan((), kerf, Decimal(0), Decimal(0), proven=True, method="nothing to cut")
    counts = Counter((piece.width, piece.height, piece.may_turn) for piece in pieces)
    kinds = sorted(counts, reverse=True)
    bound = sheet_cost_bound([(*kind, counts[kind]) for kind in kinds], stocks, kerf)
    grown = [(width + kerf, height + kerf, turn) for width, height, turn in kinds]
    every = [at for at, kind in enumerate(kinds) for _ in range(counts[kind])]
    cuts = search(grown, every, stocks, kerf, bound, progress or _no_progress)
    waiting: dict[int, list[SheetPiece]] = defaultdict(list)
    for piece in reversed(pieces):
        waiting[kinds.index((piece.width, piece.height, piece.may_turn))].append(piece)
    sheets = tuple(_sheet(cut, stocks[cut.stock], kerf, waiting) for cut in cuts)
    cost = sum((sheet.stock.price for sheet in sheets), Decimal(0))
    return SheetPlan(sheets, kerf, cost, bound, proven=cost <= bound, method="straight cuts, many starts")
