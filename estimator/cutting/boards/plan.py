"""Cavities filled with board: how each is laid, its pieces, and the boards they are cut from.

The plan kept is the one whose boards, as they are bought, and whose pieces, as work, cost least together; of
plans that cost alike the one with fewer boards, of those the one with fewer pieces.
"""

from collections.abc import Sequence
from decimal import Decimal

from estimator.core.errors import InputError, Problem, refuse
from estimator.core.units import Nm, format_length
from estimator.cutting.boards.costs import BOARDS_ALONE, Outlay
from estimator.cutting.boards.fillings import best_filling
from estimator.cutting.boards.search import Filled, Work, least_boards
from estimator.cutting.plans import BoardPlan, CutSheet, Hole, SheetPlan, SheetStock, Tile
from estimator.cutting.sheets.bounds import area_cost_bound


def _checked(holes: Sequence[Hole], stocks: Sequence[SheetStock], work: Work) -> None:
    problems = [
        Problem(where, "negative", "Give 0 or more.")
        for where, value in (
            ("minimum piece", work.minimum),
            ("kerf", work.kerf),
            ("stagger", work.stagger),
            ("cost of a piece", work.outlay.piece),
            ("boards over the fewest", work.outlay.over or 0),
        )
        if value < 0
    ]
    if not stocks:
        problems.append(Problem("board", "no board to cut from", "Give at least one board with its price."))
    for stock in stocks:
        if min(stock.width, stock.height) <= 0 or stock.price < 0 or (stock.limit or 0) < 0:
            fix = "Check its numbers."
            problems.append(
                Problem(f"board {stock.key}", "a size, price or limit below zero, or no size", fix)
            )
        elif 2 * work.minimum > min(stock.width, stock.height):
            fix = "Allow smaller pieces, or use a larger board."
            what = f"narrower than two of the smallest pieces of {format_length(work.minimum)}"
            problems.append(Problem(f"board {stock.key}", what, fix))
    names: set[str] = set()
    for hole in holes:
        if min(hole.width, hole.height) <= 0 or hole.layers < 0:
            problems.append(Problem(f"cavity {hole.name}", "no size", "Give a width and height above 0."))
        if hole.name in names:
            problems.append(Problem(f"cavity {hole.name}", "named twice", "Give every cavity its own name."))
        names.add(hole.name)
    if problems:
        raise InputError(problems)


def _within(holes: Sequence[Hole], stocks: Sequence[SheetStock], work: Work) -> list[Filled]:
    """Return the cheapest filling from one kind of board; where its limit binds, the rest from the others."""
    ways: list[tuple[Decimal, int, Filled, SheetStock]] = []
    for stock in stocks:
        filled = best_filling(holes, stock, work)
        pieces = filled.tally.pieces * work.outlay.piece
        ways.append((work.outlay.paid(filled.tally.boards, stock.price) + pieces, len(ways), filled, stock))
    free = [way for way in ways if way[3].limit is None or way[2].tally.boards <= way[3].limit]
    if free:
        _, _, filled, _ = min(free)
        return [filled]
    _, _, _, stock = min(ways)
    rest = [other for other in stocks if other is not stock]
    most = _most_holes(holes, stock, work)
    if not rest:
        fix = "Raise a board's limit, or add another board."
        raise refuse("board", "not enough boards within their limits for every cavity", fix)
    first = [best_filling(holes[:most], stock, work)] if most else []
    return first + _within(holes[most:], rest, work)


def _most_holes(holes: Sequence[Hole], stock: SheetStock, work: Work) -> int:
    """Return how many of the cavities, from the first on, the stock's limit covers."""
    low, high = 0, len(holes)
    while low < high:
        middle = (low + high + 1) // 2
        if best_filling(holes[:middle], stock, work).tally.boards <= (stock.limit or 0):
            low = middle
        else:
            high = middle - 1
    return low


def plan_boards(
    holes: Sequence[Hole],
    stocks: Sequence[SheetStock],
    minimum: Nm,
    kerf: Nm,
    stagger: Nm = 0,
    outlay: Outlay = BOARDS_ALONE,
) -> BoardPlan:
    """Return every layer of every cavity tiled, and the boards the tiles are cut from.

    Args:
        holes: the cavities.
        stocks: the boards that can be bought; pieces may be turned.
        minimum: the smallest width or height a piece may have, unless its cavity is smaller.
        kerf: width of the saw cut; 0 for a knife.
        stagger: joints of one layer keep this far from those of the layer before, where that is possible.
        outlay: what boards and pieces cost; without it boards alone count.

    Raises:
        InputError: a size that is none, a cavity named twice, a minimum over half a board, too few boards.
    """
    work = Work(minimum, kerf, stagger, outlay)
    _checked(holes, stocks, work)
    wanted = [hole for hole in holes if hole.layers]
    if not wanted:
        return BoardPlan(
            (),
            SheetPlan((), kerf, Decimal(0), Decimal(0), proven=True, method="nothing to fill"),
            0,
            0,
            proven=True,
        )
    parts = _within(wanted, stocks, work)
    tiles: list[Tile] = []
    sheets: list[CutSheet] = []
    for filled in parts:
        tiles += filled.tiles
        sheets += filled.sheets
    return _plan(wanted, stocks, tiles, sheets, kerf)


def _plan(
    holes: Sequence[Hole],
    stocks: Sequence[SheetStock],
    tiles: Sequence[Tile],
    sheets: Sequence[CutSheet],
    kerf: Nm,
) -> BoardPlan:
    bound = min(least_boards(holes, stock, kerf) for stock in stocks)
    area = sum(hole.width * hole.height * hole.layers for hole in holes)
    least = area_cost_bound(area, [(stock, stock.width * stock.height) for stock in stocks])
    least = max(least, bound * min(stock.price for stock in stocks))
    cost = sum((sheet.stock.price for sheet in sheets), Decimal(0))
    method = "courses of strips, laid anew while boards and pieces come cheaper"
    plan = SheetPlan(tuple(sheets), kerf, cost, least, proven=cost <= least, method=method)
    return BoardPlan(tuple(tiles), plan, len(sheets), bound, proven=len(sheets) <= bound)
