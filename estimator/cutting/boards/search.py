"""Several ways of filling every cavity by courses of one kind of board, and the best of them."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

from estimator.core.errors import refuse
from estimator.core.units import Nm
from estimator.cutting.boards.costs import BOARDS_ALONE, Outlay, Scale, Tally
from estimator.cutting.boards.course_choice import LIGHT, Cavities, choose
from estimator.cutting.boards.courses import PAIR, Board, Scheme, partners, schemes
from estimator.cutting.boards.savings import Limits, save_boards
from estimator.cutting.boards.strip_supply import SPARING, Strip
from estimator.cutting.boards.tiling import Rules, Tiling, clashes, named_tiles, on_seams
from estimator.cutting.plans import CutSheet, Hole, Placed, SheetPiece, SheetPlan, SheetStock, Tile
from estimator.cutting.sheets.plan import plan_sheets

_STARTS = 6
_FEW = 12
"""Layers up to which courses all one way are tried too."""
_MANY = 50
"""Layers from which a board over the bound, and some joints over others, are no reason to go on."""
_MANY_SIZES = 20
"""Sizes of cavity from which few attempts are made."""
_MOST_SIZES = 100
"""Sizes from which one is made."""
_SOME = 50
"""Pieces for each such joint."""

BOTH = frozenset({True, False})
"""Courses upright and level."""

Chosen: TypeAlias = dict[tuple[Nm, Nm], list[Scheme]]
"""By size of cavity, the scheme of each layer of that size."""


@dataclass(frozen=True, slots=True)
class Attempt:
    """A way of filling.

    Attributes:
        upright: directions of courses open to it.
        parts: into how many parts an odd course may be split to use up what other odd courses leave.
        thrift: how many joints are spent to save board; see `Supply`.
        piece: what one more piece counts, in boards, when courses are chosen.
    """

    upright: frozenset[bool]
    parts: int
    thrift: int
    piece: float = LIGHT


@dataclass(frozen=True, slots=True)
class Work:
    """The rules of the shop: smallest piece, saw cut, how far joints of two layers stand apart, and costs."""

    minimum: Nm
    kerf: Nm
    stagger: Nm
    outlay: Outlay = BOARDS_ALONE

    def board(self, stock: SheetStock) -> Board:
        """Return a kind of board as the saw sees it."""
        width, length = sorted((stock.width, stock.height))
        return Board(width, length, self.kerf, self.minimum)

    def scale(self, stock: SheetStock, bound: int) -> Scale:
        """Return what fillings are weighed by, from the least number of boards there can be."""
        over = self.outlay.over
        return Scale(self.outlay, stock.price, None if over is None else bound + over)


@dataclass(frozen=True, slots=True)
class Filled:
    """One way of filling every cavity: its tiles, the boards they are cut from, and what it comes to."""

    tiles: tuple[Tile, ...]
    sheets: tuple[CutSheet, ...]
    tally: Tally


def _by_size(holes: Sequence[Hole]) -> dict[tuple[Nm, Nm], list[Hole]]:
    sizes: dict[tuple[Nm, Nm], list[Hole]] = defaultdict(list)
    for hole in sorted(holes, key=lambda h: (-h.height, -h.width, h.seams, h.layers)):
        if hole.layers:
            sizes[hole.width, hole.height].append(hole)
    return sizes


def _attempts(layers: int, sizes: int) -> list[Attempt]:
    """Return the attempts at few boards worth making, the plainest first.

    Args:
        layers: number of layers of cavity.
        sizes: how many sizes of cavity there are; of many, splitting odd courses saves little and takes long.
    """
    alone = [
        Attempt(upright, 1, thrift)
        for upright in (frozenset({True}), frozenset({False}))
        for thrift in (0, 1)
    ]
    if sizes > _MANY_SIZES:
        return [Attempt(BOTH, parts, 1) for parts in (1, PAIR)[: 1 if sizes > _MANY else 2]]
    if layers > _MANY:
        return [Attempt(BOTH, parts, 1) for parts in (1, 2, 3)]
    mixed = [Attempt(BOTH, parts, thrift) for parts in (1, 2) for thrift in (0, 1, SPARING)]
    last = [Attempt(BOTH, 3, thrift) for thrift in (1, SPARING)]
    return mixed[:1] + (alone if layers <= _FEW else []) + mixed[1:] + last


def _plain_attempts(sizes: int, piece: float) -> list[Attempt]:
    """Return the attempts at few pieces, where one counts so much of a board."""
    if piece <= LIGHT:
        return []
    plainest = Attempt(BOTH, 1, 0, piece)
    if sizes > _MANY_SIZES:
        return [plainest] + [replace(plainest, piece=piece / 3)] * (sizes <= _MANY)
    some = [plainest] + [Attempt(BOTH, parts, t, piece) for parts, t in ((2, 0), (1, 1), (2, 1))]
    return some + [replace(attempt, piece=piece / 3) for attempt in some]


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
    schemes_of = choose(cavities, board, attempt.piece, sparing=attempt.thrift == SPARING)
    return dict(zip(numbers, schemes_of, strict=True))


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


def least_boards(holes: Sequence[Hole], stock: SheetStock, kerf: Nm) -> int:
    """Return a number of boards that no plan goes below: by area, and by area with every piece's kerf."""
    area = sum(h.width * h.height * h.layers for h in holes)
    grown = sum((h.width + kerf) * (h.height + kerf) * h.layers for h in holes)
    return max(
        -(-area // (stock.width * stock.height)), -(-grown // ((stock.width + kerf) * (stock.height + kerf)))
    )


def _will_do(found: Filled, bound: int, *, easy: bool) -> bool:
    """Return whether a filling is good enough to look for no other."""
    tally = found.tally
    few = tally.stacked <= easy * tally.pieces // _SOME
    return tally.boards <= bound + easy and few and not tally.on_seams


class Courses:
    """Fillings by courses of one kind of board, each worked out once however often it is asked for."""

    def __init__(self, holes: Sequence[Hole], stock: SheetStock, work: Work) -> None:
        """Take cavities, kind of board, and rules of the shop; what work costs is not looked at."""
        self.holes, self.stock, self.stagger = holes, stock, work.stagger
        self.board, self.bound = work.board(stock), least_boards(holes, stock, work.kerf)
        self._chosen: dict[Attempt, Chosen | None] = {}
        self._filled: dict[tuple[Attempt, bool], Filled] = {}

    def filled(self, attempt: Attempt, *, broken: bool) -> Filled | None:
        """Return the filling of an attempt; None where it cannot fill every cavity.

        Args:
            attempt: the attempt.
            broken: see `Rules`.
        """
        if (attempt, broken) not in self._filled:
            alike = replace(attempt, thrift=max(1, attempt.thrift))
            if alike not in self._chosen:
                self._chosen[alike] = _schemes_for(self.holes, self.board, alike)
            chosen = self._chosen[alike]
            if chosen is None:
                return None
            rules = Rules(self.stagger, attempt.thrift, broken)
            self._filled[attempt, broken] = self._made(chosen, rules)
        return self._filled[attempt, broken]

    def _made(self, chosen: Chosen, rules: Rules) -> Filled:
        board, holes = self.board, self.holes
        tiling = _tiled(holes, board, chosen, rules)
        wanted = [
            SheetPiece(name, breadth, _length(strip, board.kerf))
            for name, (breadth, strip) in _strips(tiling).items()
        ]
        endless = replace(self.stock, limit=None)
        floor = self.bound * self.stock.price
        strips = plan_sheets(wanted, [endless], board.kerf, starts=_STARTS, floor=floor)
        tiles, sheets = _cut(tiling, strips, self.stock)
        limits = Limits(board.least, board.kerf, rules.stagger)
        sheets, tiles = save_boards(sheets, tiles, holes, limits, self.bound)
        tally = Tally(len(sheets), len(tiles), clashes(tiles, rules.stagger), on_seams(tiles, holes))
        return Filled(tuple(tiles), tuple(sheets), tally)

    def best(self, scale: Scale) -> Filled:
        """Return the best filling by courses: it takes few boards, and many joints.

        Args:
            scale: what fillings are weighed by.

        Raises:
            InputError: no way to fill them.
        """
        best: Filled | None = None
        layers, sizes = sum(hole.layers for hole in self.holes), len(_by_size(self.holes))
        few = sizes <= _MOST_SIZES or scale.most is None
        plain = _plain_attempts(sizes, scale.piece / scale.unit) if few else []
        for attempt in (*plain, *_attempts(layers, sizes)):
            easy = attempt.parts > PAIR or layers > _MANY
            done = sizes > _MOST_SIZES or _will_do(best, self.bound, easy=easy) if best else False
            if done and attempt not in plain:
                break
            for broken in (True, False) if self.stagger and layers <= _FEW else (bool(self.stagger),):
                found = self.filled(attempt, broken=broken)
                if found is None:
                    break
                if best is None or scale.worth(found.tally) < scale.worth(best.tally):
                    best = found
                if found.tally.boards <= self.bound + 1:
                    break
        if best is None:
            raise refuse("cavities", "no way to fill them from these boards", "Allow smaller pieces.")
        return best


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
