"""The cheapest filling of every cavity with one kind of board: by courses, and laid anew from there."""

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from itertools import chain

from estimator.cutting.boards.costs import Scale
from estimator.cutting.boards.layings import Laying, Layings, Spot
from estimator.cutting.boards.piles import Pile
from estimator.cutting.boards.relaying import Relaying, State, leftovers
from estimator.cutting.boards.search import Courses, Filled, Work
from estimator.cutting.boards.stacking import Layers
from estimator.cutting.guillotine import Laid, Region
from estimator.cutting.plans import CutSheet, Hole, Placed, Rectangle, SheetPiece, SheetStock, Tile

_STEPS_A_LAYER = 60
_LEAST_STEPS, _MOST_STEPS = 1000, 2000
_FEW = 24
"""Layers up to which every beginning is followed to the end."""
_MOST_LAYERS = 2000
"""Layers above which nothing is laid anew."""
_PARTS = 4
"""Times the search looks at what is left over, and makes layings that use it."""
_PARTNERS = 8
"""Lengths left over that such layings use."""
_WARM, _COLD = 0.2, 0.01
"""Boards that a step may come dearer at first and at last."""


def best_filling(holes: Sequence[Hole], stock: SheetStock, work: Work) -> Filled:
    """Return the cheapest filling found with one kind of board.

    Raises:
        InputError: no way to fill them.
    """
    fillings = Courses(holes, stock, work)
    scale = work.scale(stock, fillings.bound)
    courses = [fillings.best(scale)]
    layers = Layers(holes, work.stagger)
    if len(layers.slots) > _MOST_LAYERS:
        return courses[0]
    if work.outlay.piece and len(layers.slots) <= _FEW:
        fewest_boards = replace(work.outlay, piece=Decimal(0))
        courses.append(fillings.best(replace(scale, outlay=fewest_boards)))
    search = _Fillings(layers, stock, work, scale)
    state = search.best(courses)
    return Filled(*search.cut(state), state.tally)


class _Fillings:
    """The search from several beginnings."""

    def __init__(self, layers: Layers, stock: SheetStock, work: Work, scale: Scale) -> None:
        self.layers, self.stock, self.work, self.scale = layers, stock, work, scale
        self.board = work.board(stock)
        self.search = Relaying(layers, self.board, self.scale)
        self.layings = Layings(self.board)

    def best(self, courses: Sequence[Filled]) -> State:
        """Return the cheapest state found, from the courses and from the plainest layings.

        Of many layers the worse beginnings are given up after the first part.
        """
        number = len(self.layers.slots)
        steps = min(_MOST_STEPS, max(_LEAST_STEPS, _STEPS_A_LAYER * number))
        plainest = self._plainest()
        states = [self._by_courses(filled) for filled in courses] + ([plainest] if plainest else [])
        fall = (_WARM - _COLD) / _PARTS
        for part in range(_PARTS):
            warm = _WARM - part * fall
            states = [self._improved(state, steps // _PARTS, (warm, warm - fall)) for state in states]
            if number > _FEW:
                states = [min(states, key=lambda state: self.scale.worth(state.tally))]
        return min(states, key=lambda state: self.scale.worth(state.tally))

    def _improved(self, state: State, steps: int, warmth: tuple[float, float]) -> State:
        sides = [side for side in leftovers(state, self.board.kerf) if side >= self.board.least]
        return self.search.improved(state, self.layings.using(tuple(sides[:_PARTNERS])), steps, warmth)

    def _plainest(self) -> State | None:
        """Return every layer laid in the fewest pieces; None where size or seam forbids it."""
        layings: list[Laying] = []
        for at, (hole, _) in enumerate(self.layers.slots):
            some = (self.layers.turned(at, laying) for laying in self.layings.of(hole.width, hole.height))
            found = next(chain.from_iterable(some), None)
            if found is None:
                return None
            layings.append(found)
        return self.search.begun(layings)

    def _by_courses(self, courses: Filled) -> State:
        """Return the filling by courses as a state of the search."""
        spots: dict[tuple[str, int], list[Spot]] = defaultdict(list)
        for tile in courses.tiles:
            spots[tile.hole, tile.layer].append(Spot(tile.x, tile.y, tile.width, tile.height))
        layings = [tuple(sorted(spots[hole.name, layer])) for hole, layer in self.layers.slots]
        return self.search.begun(layings, [self._pile(sheet) for sheet in courses.sheets])

    def _pile(self, sheet: CutSheet) -> Pile:
        kerf = self.board.kerf
        laid = [self._laid(spot) for spot in sheet.placed]
        regions = [Region(o.x, o.y, o.width + kerf, o.height + kerf) for o in sheet.offcuts]
        return Pile(laid, regions, sum(piece.width * piece.height for piece in laid))

    def _laid(self, spot: Placed) -> Laid:
        short, long = sorted((spot.width, spot.height))
        kerf = self.board.kerf
        return Laid(self.search.kind((short, long)), spot.x, spot.y, spot.width + kerf, spot.height + kerf)

    def cut(self, state: State) -> tuple[tuple[Tile, ...], tuple[CutSheet, ...]]:
        """Return the tiles of a state, named, and the boards they are cut from."""
        tiles: list[Tile] = []
        named: Counter[str] = Counter()
        waiting: dict[int, list[Tile]] = defaultdict(list)
        for (hole, layer), laying in zip(self.layers.slots, state.layings, strict=True):
            for spot in laying:
                named[hole.name] += 1
                tile = Tile(hole.name, layer, f"{hole.name}.{named[hole.name]}", *spot)
                tiles.append(tile)
                short, long = sorted((spot.width, spot.height))
                waiting[self.search.kind((short, long))].append(tile)
        return tuple(tiles), tuple(self._sheet(pile, waiting) for pile in state.piles)

    def _sheet(self, pile: Pile, waiting: dict[int, list[Tile]]) -> CutSheet:
        kerf, placed = self.board.kerf, []
        for laid in pile.laid:
            tile = waiting[laid.kind].pop(0)
            piece = SheetPiece(tile.name, tile.width, tile.height)
            placed.append(Placed(piece, laid.x, laid.y, laid.width - kerf, laid.height - kerf))
        offcuts = [
            Rectangle(r.x, r.y, r.width - kerf, r.height - kerf)
            for r in pile.regions
            if r.width > kerf and r.height > kerf
        ]
        return CutSheet(self.stock, tuple(placed), tuple(offcuts))
