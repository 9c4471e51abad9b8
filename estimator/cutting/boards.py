"""Cavities filled with board: courses chosen, pieces placed, and the boards they are cut from.

Several ways of filling are tried, the plainest first; the plan that takes the fewest boards is kept, of those
the one with the fewest joints that stand over one another, then the fewest pieces.
"""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from estimator.core.errors import InputError, Problem, refuse
from estimator.core.units import Nm, format_length
from estimator.cutting.course_choice import Cavities, choose
from estimator.cutting.courses import Board, Scheme, partners, schemes
from estimator.cutting.plans import (
    BoardPlan,
    CutSheet,
    Hole,
    Placed,
    SheetPiece,
    SheetPlan,
    SheetStock,
    Tile,
)
from estimator.cutting.sheet_bounds import area_cost_bound
from estimator.cutting.sheets import plan_sheets
from estimator.cutting.strip_supply import Strip
from estimator.cutting.tiling import Rules, Tiling, clashes, named_tiles

_STARTS = 24


@dataclass(frozen=True, slots=True)
class _Work:
    """The rules of the shop: smallest piece, saw cut, and how far joints of two layers stand apart."""

    minimum: Nm
    kerf: Nm
    stagger: Nm


@dataclass(frozen=True, slots=True)
class _Filled:
    """One way of filling every cavity, and the strips (by name) on their sheets."""

    tiling: Tiling
    strips: SheetPlan
    stacked: int

    @property
    def boards(self) -> int:
        return len(self.strips.sheets)

    @property
    def pieces(self) -> int:
        return sum(len(course.pieces) for course in self.tiling.courses)


def _checked(holes: Sequence[Hole], stocks: Sequence[SheetStock], work: _Work) -> None:
    problems = [
        Problem(where, "negative", "Give 0 or more.")
        for where, value in (("minimum piece", work.minimum), ("kerf", work.kerf), ("stagger", work.stagger))
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


def _board(stock: SheetStock, work: _Work) -> Board:
    return Board(min(stock.width, stock.height), max(stock.width, stock.height), work.kerf, work.minimum)


def _by_size(holes: Sequence[Hole]) -> dict[tuple[Nm, Nm], list[Hole]]:
    sizes: dict[tuple[Nm, Nm], list[Hole]] = defaultdict(list)
    for hole in sorted(holes, key=lambda h: (-h.height, -h.width, h.seams, h.layers)):
        if hole.layers:
            sizes[hole.width, hole.height].append(hole)
    return sizes


def _choices(holes: Sequence[Hole], board: Board) -> Iterator[dict[tuple[Nm, Nm], list[Scheme]]]:
    """Return the schemes of the layers of each size of cavity, in several ways, the plainest first."""
    sizes = _by_size(holes)
    numbers = {size: sum(hole.layers for hole in group) for size, group in sizes.items()}
    shares = partners([(*size, number) for size, number in numbers.items()], board)
    for upright, among in (({True, False}, ()), ({True}, ()), ({False}, ()), ({True, False}, shares)):
        cavities = []
        for (width, height), number in numbers.items():
            open_to = [s for s in schemes(width, height, board, among) if s.upright in upright]
            if not among:
                fewest = [s for s in open_to if len(s.bands) == min(len(t.bands) for t in open_to)]
                open_to = fewest if len(upright) == 1 else open_to
            cavities.append(Cavities(width, height, number, tuple(open_to)))
        if all(cavity.schemes for cavity in cavities):
            yield dict(zip(numbers, choose(cavities, board), strict=True))


def _tiled(
    holes: Sequence[Hole], board: Board, chosen: dict[tuple[Nm, Nm], list[Scheme]], rules: Rules
) -> Tiling:
    """Return every layer filled, a whole layer of every cavity before the next."""
    tiling = Tiling(board, rules)
    waiting = {size: list(group) for size, group in chosen.items()}
    sizes = _by_size(holes)
    for layer in range(1, max((hole.layers for hole in holes), default=0) + 1):
        for size, group in sizes.items():
            for hole in group:
                if layer <= hole.layers:
                    tiling.add_layer(hole, layer, waiting[size].pop(0))
    return tiling


def _strips(tiling: Tiling) -> dict[str, tuple[Nm, Strip]]:
    """Return the breadth and the pieces of every strip, by a name of its own."""
    return {
        f"{number} of {band.breadth} {band.way}": (band.breadth, strip)
        for band, supply in tiling.supplies.items()
        for number, strip in enumerate(supply.strips)
    }


def _length(strip: Strip, kerf: Nm) -> Nm:
    return sum(piece for piece, _, _ in strip.pieces) + kerf * (len(strip.pieces) - 1)


def _filled(
    holes: Sequence[Hole],
    stock: SheetStock,
    board: Board,
    rules: Rules,
    chosen: dict[tuple[Nm, Nm], list[Scheme]],
) -> _Filled:
    tiling = _tiled(holes, board, chosen, rules)
    wanted = [
        SheetPiece(name, breadth, _length(strip, board.kerf))
        for name, (breadth, strip) in _strips(tiling).items()
    ]
    strips = plan_sheets(wanted, [replace(stock, limit=None)], board.kerf, starts=_STARTS)
    return _Filled(tiling, strips, clashes(tiling.courses, rules.stagger))


def _least_boards(holes: Sequence[Hole], stock: SheetStock, kerf: Nm) -> int:
    """Return a number of boards that no plan goes below: by area, and by area with every piece's kerf."""
    area = sum(h.width * h.height * h.layers for h in holes)
    grown = sum((h.width + kerf) * (h.height + kerf) * h.layers for h in holes)
    return max(
        -(-area // (stock.width * stock.height)), -(-grown // ((stock.width + kerf) * (stock.height + kerf)))
    )


def _best(holes: Sequence[Hole], stock: SheetStock, work: _Work) -> _Filled:
    """Return the best filling with one kind of board."""
    board, bound = _board(stock, work), _least_boards(holes, stock, work.kerf)
    best: tuple[tuple[int, int, int, int], _Filled] | None = None
    for chosen in _choices(holes, board):
        for thrifty in (False, True):
            for broken in (True, False) if work.stagger else (False,):
                found = _filled(holes, stock, board, Rules(work.stagger, thrifty, broken), chosen)
                over = max(0, found.boards - bound - 1)
                rating = (over, found.stacked, found.boards, found.pieces)
                if best is None or rating < best[0]:
                    best = (rating, found)
        if best and best[1].boards <= bound and not best[1].stacked:
            break
    if best is None:
        raise refuse("cavities", "no way to fill them from these boards", "Allow smaller pieces.")
    return best[1]


def _cut_strip(spot: Placed, strip: Strip, tiles: Sequence[Tile], kerf: Nm) -> list[Placed]:
    """Return the tiles of a strip where it lies on its board."""
    placed, at = [], 0
    for (run, _, _), tile in zip(strip.pieces, tiles, strict=True):
        piece = SheetPiece(tile.name, tile.width, tile.height)
        if spot.height == spot.piece.height:
            placed.append(Placed(piece, spot.x, spot.y + at, spot.width, run))
        else:
            placed.append(Placed(piece, spot.x + at, spot.y, run, spot.height))
        at += run + kerf
    return placed


def _cut(filled: _Filled, kerf: Nm) -> tuple[list[Tile], list[CutSheet]]:
    """Return the tiles, and the boards with the tiles in place of the strips."""
    tiles, at = named_tiles(filled.tiling.courses)
    strips = _strips(filled.tiling)
    sheets = []
    for sheet in filled.strips.sheets:
        placed: list[Placed] = []
        for spot in sheet.placed:
            strip = strips[spot.piece.name][1]
            named = [at[course, place] for _, course, place in strip.pieces]
            placed += _cut_strip(spot, strip, named, kerf)
        sheets.append(replace(sheet, placed=tuple(placed)))
    return tiles, sheets


def _within(
    holes: Sequence[Hole], stocks: Sequence[SheetStock], work: _Work
) -> list[tuple[_Filled, SheetStock]]:
    """Return the cheapest filling from one kind of board; where its limit binds, the rest from the others."""
    ways = []
    for stock in stocks:
        filled = _best(holes, stock, work)
        ways.append((stock.price * filled.boards, len(ways), filled, stock))
    free = [way for way in ways if way[3].limit is None or way[2].boards <= way[3].limit]
    if free:
        _, _, filled, stock = min(free)
        return [(filled, stock)]
    _, _, _, stock = min(ways)
    rest = [other for other in stocks if other is not stock]
    most = _most_holes(holes, stock, work)
    if not rest:
        fix = "Raise a board's limit, or add another board."
        raise refuse("board", "not enough boards within their limits for every cavity", fix)
    first = [(_best(holes[:most], stock, work), stock)] if most else []
    return first + _within(holes[most:], rest, work)


def _most_holes(holes: Sequence[Hole], stock: SheetStock, work: _Work) -> int:
    """Return how many of the cavities, from the first on, the stock's limit covers."""
    low, high = 0, len(holes)
    while low < high:
        middle = (low + high + 1) // 2
        if _best(holes[:middle], stock, work).boards <= (stock.limit or 0):
            low = middle
        else:
            high = middle - 1
    return low


def plan_boards(
    holes: Sequence[Hole], stocks: Sequence[SheetStock], minimum: Nm, kerf: Nm, stagger: Nm = 0
) -> BoardPlan:
    """Return every layer of every cavity tiled, and the boards the tiles are cut from.

    Args:
        holes: the cavities.
        stocks: the boards that can be bought; pieces may be turned.
        minimum: the smallest width or height a piece may have, unless its cavity is smaller.
        kerf: width of the saw cut; 0 for a knife.
        stagger: joints of one layer keep this far from those of the layer before, where that is possible.

    Raises:
        InputError: a size that is none, a cavity named twice, a minimum over half a board, too few boards.
    """
    work = _Work(minimum, kerf, stagger)
    _checked(holes, stocks, work)
    wanted = [hole for hole in holes if hole.layers]
    if not wanted:
        return BoardPlan((), SheetPlan((), kerf, Decimal(0), Decimal(0), True, ""), 0, 0, proven=True)
    parts = _within(wanted, stocks, work)
    tiles: list[Tile] = []
    sheets: list[CutSheet] = []
    for filled, stock in parts:
        some, cut = _cut(filled, kerf)
        tiles += some
        sheets += [replace(sheet, stock=stock) for sheet in cut]
    return _plan(wanted, stocks, tiles, sheets, kerf)


def _plan(
    holes: Sequence[Hole],
    stocks: Sequence[SheetStock],
    tiles: Sequence[Tile],
    sheets: Sequence[CutSheet],
    kerf: Nm,
) -> BoardPlan:
    bound = min(_least_boards(holes, stock, kerf) for stock in stocks)
    area = sum(hole.width * hole.height * hole.layers for hole in holes)
    least = area_cost_bound(area, [(stock, stock.width * stock.height) for stock in stocks])
    least = max(least, bound * min(stock.price for stock in stocks))
    cost = sum((sheet.stock.price for sheet in sheets), Decimal(0))
    method = "courses with joints anywhere, strips cut from boards"
    plan = SheetPlan(tuple(sheets), kerf, cost, least, proven=cost <= least, method=method)
    return BoardPlan(tuple(tiles), plan, len(sheets), bound, proven=len(sheets) <= bound)
