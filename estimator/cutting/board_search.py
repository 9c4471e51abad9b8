"""Several ways of filling every cavity with one kind of board, and the best of them."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

from estimator.core.errors import refuse
from estimator.core.units import Nm
from estimator.cutting.board_savings import Limits, save_boards
from estimator.cutting.course_choice import Cavities, choose
from estimator.cutting.courses import PAIR, Board, Scheme, partners, schemes
from estimator.cutting.plans import CutSheet, Hole, Placed, SheetPiece, SheetPlan, SheetStock, Tile
from estimator.cutting.sheets import plan_sheets
from estimator.cutting.strip_supply import SPARING, Strip
from estimator.cutting.tiling import Rules, Tiling, clashes, named_tiles, on_seams

_STARTS = 6
_FEW = 12
"""Layers up to which courses all one way are tried too."""
_MANY = 50
"""Layers from which a board over the bound, and some joints over others, are no reason to go on."""
_ON_SEAM = 10_000
"""Joints over others that are better than one on a seam of the cloth."""
_SOME = 50
"""Pieces for each such joint."""

Chosen: TypeAlias = dict[tuple[Nm, Nm], list[Scheme]]
"""By size of cavity, the scheme of each layer of that size."""


@dataclass(frozen=True, slots=True)
class Attempt:
    """A way of filling.

    Attributes:
        upright: directions of courses open to it.
        parts: into how many parts an odd course may be split to use up what other odd courses leave.
        thrift: how many joints are spent to save board; see `Supply`.
    """

    upright: frozenset[bool]
    parts: int
    thrift: int


@dataclass(frozen=True, slots=True)
class Work:
    """The rules of the shop: smallest piece, saw cut, and how far joints of two layers stand apart."""

    minimum: Nm
    kerf: Nm
    stagger: Nm


@dataclass(frozen=True, slots=True)
class Filled:
    """One way of filling every cavity: its tiles, the boards they are cut from, joints over others."""

    tiles: tuple[Tile, ...]
    sheets: tuple[CutSheet, ...]
    stacked: int

    @property
    def boards(self) -> int:
        """Return how many boards it takes."""
        return len(self.sheets)


def _by_size(holes: Sequence[Hole]) -> dict[tuple[Nm, Nm], list[Hole]]:
    sizes: dict[tuple[Nm, Nm], list[Hole]] = defaultdict(list)
    for hole in sorted(holes, key=lambda h: (-h.height, -h.width, h.seams, h.layers)):
        if hole.layers:
            sizes[hole.width, hole.height].append(hole)
    return sizes


def _attempts(layers: int) -> list[Attempt]:
    """Return the attempts worth making for that many layers of cavity, the plainest first."""
    alone = [
        Attempt(upright, 1, thrift)
        for upright in (frozenset({True}), frozenset({False}))
        for thrift in (0, 1)
    ]
    both = frozenset({True, False})
    if layers > _MANY:
        return [Attempt(both, 1, 1)] + [Attempt(both, parts, t) for parts in (2, 3) for t in (1, SPARING)]
    mixed = [Attempt(both, parts, thrift) for parts in (1, 2) for thrift in (0, 1, SPARING)]
    last = [Attempt(both, 3, thrift) for thrift in (1, SPARING)]
    return mixed[:1] + (alone if layers <= _FEW else []) + mixed[1:] + last


def _schemes_for(holes: Sequence[Hole], board: Board, attempt: Attempt) -> Chosen | None:
    """Return the schemes of each size of cavity's layers; None where the attempt cannot fill them all."""
    numbers = {size: sum(hole.layers for hole in group) for size, group in _by_size(holes).items()}
    shares = partners([(*size, number) for size, number in numbers.items()], board, attempt.parts)
    cavities = []
    for (width, height), number in numbers.items():
        ways = [
            s for s in schemes(width, height, board, shares, attempt.parts) if s.upright in attempt.upright
        ]
        if not ways:
            return None
        cavities.append(Cavities(width, height, number, tuple(ways)))
    return dict(zip(numbers, choose(cavities, board, sparing=attempt.thrift == SPARING), strict=True))


def _tiled(holes: Sequence[Hole], board: Board, chosen: Chosen, rules: Rules) -> Tiling:
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


def _filled(holes: Sequence[Hole], stock: SheetStock, board: Board, rules: Rules, chosen: Chosen) -> Filled:
    tiling = _tiled(holes, board, chosen, rules)
    wanted = [
        SheetPiece(name, breadth, _length(strip, board.kerf))
        for name, (breadth, strip) in _strips(tiling).items()
    ]
    bound = least_boards(holes, stock, board.kerf)
    endless = replace(stock, limit=None)
    strips = plan_sheets(wanted, [endless], board.kerf, starts=_STARTS, floor=bound * stock.price)
    tiles, sheets = _cut(tiling, strips, stock)
    limits = Limits(board.least, board.kerf, rules.stagger)
    sheets, tiles = save_boards(sheets, tiles, holes, limits, bound)
    worse = _ON_SEAM * on_seams(tiles, holes)
    return Filled(tuple(tiles), tuple(sheets), clashes(tiles, rules.stagger) + worse)


def least_boards(holes: Sequence[Hole], stock: SheetStock, kerf: Nm) -> int:
    """Return a number of boards that no plan goes below: by area, and by area with every piece's kerf."""
    area = sum(h.width * h.height * h.layers for h in holes)
    grown = sum((h.width + kerf) * (h.height + kerf) * h.layers for h in holes)
    return max(
        -(-area // (stock.width * stock.height)), -(-grown // ((stock.width + kerf) * (stock.height + kerf)))
    )


def _will_do(found: Filled, bound: int, *, easy: bool) -> bool:
    """Return whether a filling is good enough to look for no other."""
    return found.boards <= bound + easy and found.stacked <= easy * len(found.tiles) // _SOME


def best_filling(holes: Sequence[Hole], stock: SheetStock, work: Work) -> Filled:
    """Return the best filling with one kind of board.

    Fewest boards; but one board over the bound where that keeps joints from standing over one another.
    """
    board = Board(min(stock.width, stock.height), max(stock.width, stock.height), work.kerf, work.minimum)
    bound = least_boards(holes, stock, work.kerf)
    best: tuple[tuple[int, ...], Filled] | None = None
    known: dict[Attempt, Chosen | None] = {}
    layers = sum(hole.layers for hole in holes)
    for attempt in _attempts(layers):
        if best and _will_do(best[1], bound, easy=attempt.parts > PAIR or layers > _MANY):
            break
        alike = replace(attempt, thrift=max(1, attempt.thrift))
        if alike not in known:
            known[alike] = _schemes_for(holes, board, alike)
        chosen = known[alike]
        for broken in (True, False) if work.stagger and layers <= _FEW else (bool(work.stagger),):
            if chosen is None:
                continue
            found = _filled(holes, stock, board, Rules(work.stagger, attempt.thrift, broken), chosen)
            rating = (
                found.stacked // _ON_SEAM,
                max(0, found.boards - bound - 1),
                found.stacked,
                found.boards,
                len(found.tiles),
            )
            if best is None or rating < best[0]:
                best = (rating, found)
            if found.boards <= bound + 1:
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


def _cut(tiling: Tiling, plan: SheetPlan, stock: SheetStock) -> tuple[list[Tile], list[CutSheet]]:
    """Return the tiles, and the boards with the tiles in place of the strips."""
    tiles, at = named_tiles(tiling.courses)
    strips = _strips(tiling)
    sheets = []
    for sheet in plan.sheets:
        placed: list[Placed] = []
        for spot in sheet.placed:
            strip = strips[spot.piece.name][1]
            named = [at[course, place] for _, course, place in strip.pieces]
            placed += _cut_strip(spot, strip, named, tiling.board.kerf)
        sheets.append(CutSheet(stock, tuple(placed), sheet.offcuts))
    return tiles, sheets
