"""Cavities filled with board: how each is laid, its pieces, and the boards they are cut from.

The plan kept is the one whose boards, as they are bought, and whose pieces, as work, cost least together; of
plans that cost alike the one with fewer boards, of those the one with fewer pieces.
"""

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from estimator.core.errors import InputError, Problem
from estimator.core.units import Nm, format_length
from estimator.cutting.boards.costs import BOARDS_ALONE, Outlay, Scale
from estimator.cutting.boards.layings import Board, Layings
from estimator.cutting.boards.relaying import Relaying, State, leftovers
from estimator.cutting.boards.stacking import Layers
from estimator.cutting.guillotine import Region
from estimator.cutting.piles import Pile, offcuts
from estimator.cutting.plans import BoardPlan, CutSheet, Hole, Placed, SheetPiece, SheetPlan, SheetStock, Tile

_STEPS_A_LAYER, _LEAST_STEPS, _MOST_STEPS = 240, 2_000, 8_000
"""Steps of the search: those of a small job take half a second, those of any some seconds."""
_PARTS = 4
"""Times the search looks at what is left over, and makes layings that use it."""
_PARTNERS = 8
"""Lengths left over that such layings use."""
_WARM, _COLD = 0.4, 0.01
"""Boards that a step may come dearer at first and at last (own judgement, tried on the examples)."""


class _Work(NamedTuple):
    """The rules of the shop: smallest piece, saw cut, how far joints of two layers stand apart, and costs."""

    minimum: Nm
    kerf: Nm
    stagger: Nm
    outlay: Outlay


def _problems(holes: Sequence[Hole], stock: SheetStock, work: _Work) -> Iterator[Problem]:
    for where, value in (
        ("minimum piece", work.minimum),
        ("kerf", work.kerf),
        ("stagger", work.stagger),
        ("cost of a piece", work.outlay.piece),
    ):
        if value < 0:
            yield Problem(where, "negative", "Give 0 or more.")
    if min(stock.width, stock.height) <= 0 or stock.price < 0:
        yield Problem(f"board {stock.key}", "a size or price below zero, or no size", "Check its numbers.")
    elif 2 * work.minimum > min(stock.width, stock.height):
        what = f"narrower than two of the smallest pieces of {format_length(work.minimum)}"
        yield Problem(f"board {stock.key}", what, "Allow smaller pieces, or use a larger board.")
    named = Counter(hole.name for hole in holes)
    for hole in holes:
        if min(hole.width, hole.height) <= 0 or hole.layers < 0:
            yield Problem(f"cavity {hole.name}", "no size", "Give a width and height above 0.")
    for name in (name for name, number in named.items() if number > 1):
        yield Problem(f"cavity {name}", "named twice", "Give every cavity its own name.")


def least_boards(holes: Sequence[Hole], stock: SheetStock, kerf: Nm) -> int:
    """Return a number of boards that no plan goes below: by area, and by area with every piece's kerf."""
    area = sum(h.width * h.height * h.layers for h in holes)
    grown = sum((h.width + kerf) * (h.height + kerf) * h.layers for h in holes)
    return max(
        -(-area // (stock.width * stock.height)), -(-grown // ((stock.width + kerf) * (stock.height + kerf)))
    )


def plan_boards(
    holes: Sequence[Hole],
    stock: SheetStock,
    minimum: Nm,
    kerf: Nm,
    stagger: Nm = 0,
    outlay: Outlay = BOARDS_ALONE,
) -> BoardPlan:
    """Return every layer of every cavity tiled, and the boards the tiles are cut from.

    Args:
        holes: the cavities.
        stock: the board, as many as are wanted; pieces may be turned.
        minimum: the smallest width or height a piece may have, unless its cavity is smaller.
        kerf: width of the saw cut; 0 for a knife.
        stagger: joints of one layer keep this far from those of the layer before, where that is possible.
        outlay: what boards and pieces cost; without it boards alone count.

    Raises:
        InputError: a size that is none, a cavity named twice, a minimum over half a board.
    """
    work = _Work(minimum, kerf, stagger, outlay)
    if problems := list(_problems(holes, stock, work)):
        raise InputError(problems)
    bound = least_boards(holes, stock, kerf)
    tiles, sheets = _filled(holes, stock, work, bound) if bound else ((), ())
    cost, least = len(sheets) * stock.price, bound * stock.price
    method = "laid anew while boards and pieces come cheaper" if bound else "nothing to fill"
    plan = SheetPlan(sheets, kerf, cost, least, proven=cost <= least, method=method)
    return BoardPlan(tiles, plan, len(sheets), bound, proven=len(sheets) <= bound)


def _filled(
    holes: Sequence[Hole], stock: SheetStock, work: _Work, bound: int
) -> tuple[tuple[Tile, ...], tuple[CutSheet, ...]]:
    """Return the tiles, named, and the boards they are cut from, of the cheapest filling found."""
    layers = Layers(holes, work.stagger)
    sides = stock.width, stock.height
    board = Board(min(sides), max(sides), work.kerf, work.minimum)
    whole = Region(0, 0, stock.width + work.kerf, stock.height + work.kerf)
    scale, layings = Scale(work.outlay, stock.price, bound), Layings(board)
    search = Relaying(layers, whole, (work.kerf, work.minimum), scale)
    state = search.begun([layings.of(hole.width, hole.height)[0] for hole, _ in layers.slots])
    steps = min(_MOST_STEPS, max(_LEAST_STEPS, _STEPS_A_LAYER * len(layers.slots)))
    fall = (_WARM - _COLD) / _PARTS
    for part in range(_PARTS):
        partners = leftovers(state, board.kerf, board.least)[:_PARTNERS]
        warm = _WARM - part * fall
        state = search.improved(state, layings.using(partners), steps // _PARTS, (warm, warm - fall))
    return _cut(layers, search, state, stock)


def _cut(
    layers: Layers, search: Relaying, state: State, stock: SheetStock
) -> tuple[tuple[Tile, ...], tuple[CutSheet, ...]]:
    tiles: list[Tile] = []
    named: Counter[str] = Counter()
    waiting: dict[int, list[Tile]] = defaultdict(list)
    for (hole, layer), laying in zip(layers.slots, state.layings, strict=True):
        for spot in laying:
            named[hole.name] += 1
            tiles.append(Tile(hole.name, layer, f"{hole.name}.{named[hole.name]}", *spot))
            short, long = sorted((spot.width, spot.height))
            waiting[search.kind((short, long))].append(tiles[-1])
    return tuple(tiles), tuple(_sheet(pile, stock, search.kerf, waiting) for pile in state.piles)


def _sheet(pile: Pile, stock: SheetStock, kerf: Nm, waiting: dict[int, list[Tile]]) -> CutSheet:
    placed = []
    for laid in pile.laid:
        tile = waiting[laid.kind].pop(0)
        piece = SheetPiece(tile.name, tile.width, tile.height)
        placed.append(Placed(piece, laid.x, laid.y, laid.width - kerf, laid.height - kerf))
    return CutSheet(stock, tuple(placed), offcuts(pile.regions, kerf))
