"""Cavities filled with board: how each is laid, its pieces, and the boards they are cut from.

The plan kept is the one whose boards, as they are bought, and whose pieces, as work, cost least together; of
plans that cost alike the one with fewer boards, of those the one with fewer pieces.

Cavities are laid anew, one layer at a time, as long as that comes cheaper. A step takes a layer of a cavity
and another way to lay it, and cuts again the few boards that its pieces come from and might go to. What comes
out dearer is kept at first where it is not much dearer, less and less so towards the end; the cheapest
filling met on the way is what is returned. Steps are counted, not timed, and chance is seeded: the same
cavities give the same plan on every machine.
Source: acceptance by a threshold that falls; Dueck and Scheuer, Journal of Computational Physics 90 (1990)
161-175 (from memory).
"""

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from itertools import product
from typing import NamedTuple, TypeAlias

from estimator.core.errors import InputError, Problem
from estimator.core.units import Nm, format_length
from estimator.cutting.boards.costs import BOARDS_ALONE, Outlay, Scale, Tally
from estimator.cutting.boards.layings import Board, Laying, Layings, Size, flipped, sizes_of
from estimator.cutting.guillotine import Option, Region
from estimator.cutting.piles import Bench, Pile, fullness, offcuts
from estimator.cutting.plans import BoardPlan, CutSheet, Hole, Placed, SheetPiece, SheetPlan, SheetStock, Tile


def clashes(before: Laying, after: Laying, stagger: Nm) -> int:
    """Return how many joints of a layer stand closer than `stagger` to a parallel one of the layer before."""
    total = 0
    for side in (0, 1):
        there = {spot[side] for spot in before} - {0}
        here = {spot[side] for spot in after} - {0}
        total += sum(any(abs(a - b) < stagger for b in there) for a in here)
    return total


class Layers:
    """Every layer of every cavity, in an order that does not depend on the cavities' names.

    Attributes:
        slots: cavity and number of each layer, from 1; layers of one cavity follow one another.
    """

    def __init__(self, holes: Sequence[Hole], stagger: Nm) -> None:
        """Take the cavities, and how far joints of two layers stand apart where they can."""
        ordered = sorted(holes, key=lambda h: (-h.height, -h.width, h.layers))
        self.slots = [(hole, layer) for hole in ordered for layer in range(1, hole.layers + 1)]
        self.stagger = stagger

    def stacked_at(self, at: int, laying: Laying, layings: Sequence[Laying]) -> int:
        """Return how many joints of one layer, and of the layers beside it, stand over one another."""
        hole, layer = self.slots[at]
        below = clashes(layings[at - 1], laying, self.stagger) if layer > 1 else 0
        return below + (clashes(laying, layings[at + 1], self.stagger) if layer < hole.layers else 0)

    def stacked(self, layings: Sequence[Laying]) -> int:
        """Return how many joints stand over one of the layer before."""
        return sum(self.stacked_at(at, laying, layings) for at, laying in enumerate(layings)) // 2

    def arranged(self, at: int, laying: Laying, layings: Sequence[Laying]) -> tuple[int, Laying]:
        """Return a laying turned about so that fewest joints stand over others, and how many do first."""
        hole, _ = self.slots[at]
        if not self.stagger or hole.layers == 1:
            return 0, laying
        ways = product((False, True), repeat=2)
        turned = [flipped(laying, hole.width, hole.height, across=across, up=up) for up, across in ways]
        return min(((self.stacked_at(at, way, layings), way) for way in turned), key=lambda way: way[0])


_SEED = 20011
"""Any: with it the same cavities give the same plan."""
_TRIES = 3
"""Orders in which the pieces of a step are laid."""
_MOST_OTHERS = 3
"""Boards cut again besides those the step needs."""
_FULLNESS = 0.5
"""Boards that full boards and empty ones count against half-full ones: it is an empty board that can go."""

Pieces: TypeAlias = Counter[int]
"""How many pieces of each kind."""


class State(NamedTuple):
    """A filling: how each layer is laid, and the boards its pieces are cut from with what each holds."""

    layings: tuple[Laying, ...]
    piles: tuple[Pile, ...]
    loads: tuple[Pieces, ...]
    tally: Tally


class _Step(NamedTuple):
    """A layer laid anew: the boards cut again, their pieces, and what the filling comes to without boards."""

    at: int
    laying: Laying
    boards: list[int]
    pieces: Pieces
    tally: Tally


class Relaying:
    """The search: see the module."""

    def __init__(self, layers: Layers, whole: Region, cut: tuple[Nm, Nm], scale: Scale) -> None:
        """Take the layers, a whole board grown by the kerf, kerf and smallest piece, and the weights."""
        self.layers, self.whole, self.scale = layers, whole, scale
        self.kerf, least = cut
        self.bench = Bench([], max(1, least) + self.kerf, _SEED)
        self.chance = self.bench.chance
        self._kinds: dict[Size, int] = {}
        self._counts: dict[Laying, Pieces] = {}

    def kind(self, size: Size) -> int:
        """Return the number of a size of piece, shorter side first."""
        if size not in self._kinds:
            number = self._kinds[size] = len(self._kinds)
            short, long = (side + self.kerf for side in size)
            ways = [Option(short, long, number), Option(long, short, number)]
            fit = [way for way in ways if way.width <= self.whole.width and way.height <= self.whole.height]
            self.bench.options.append(fit[: 1 + (long > short)])
        return self._kinds[size]

    def pieces(self, laying: Laying) -> Pieces:
        """Return the pieces of a laying."""
        if laying not in self._counts:
            self._counts[laying] = Counter(self.kind(size) for size in sizes_of(laying))
        return self._counts[laying]

    def begun(self, layings: Sequence[Laying]) -> State:
        """Return the filling of these layings."""
        every = [kind for laying in layings for kind in self.pieces(laying).elements()]
        piles = self.bench.fullest(every, [self.whole] * len(every), 1) or []
        tally = Tally(len(piles), len(every), self.layers.stacked(layings))
        return State(tuple(layings), tuple(piles), tuple(pile.load() for pile in piles), tally)

    def improved(self, state: State, ways: Layings, steps: int, warmth: tuple[float, float]) -> State:
        """Return the cheapest filling met in `steps` steps from `state`, which may be that state.

        Args:
            state: where to begin.
            ways: what makes layings.
            steps: how many are tried.
            warmth: how much dearer a step may come at first and at last, in boards.
        """
        now = best = state
        for number in range(steps):
            slack = (warmth[0] + (warmth[1] - warmth[0]) * number / steps) * self.scale.unit
            step = self._step(now, ways)
            if step is not None:
                now = self._taken(now, step, slack * self.chance.random() * 2)
                if self.scale.worth(now.tally) < self.scale.worth(best.tally):
                    best = now
        return best

    def _step(self, now: State, ways: Layings) -> _Step | None:
        """Return a step by chance, the plainer layings more often; None where it changes nothing."""
        at = self._chosen(now)
        hole, _ = self.layers.slots[at]
        some, old = ways.of(hole.width, hole.height), now.layings[at]
        new = some[int(len(some) * self.chance.random() ** 3)]
        stacked, laying = self.layers.arranged(at, new, now.layings)
        stacked -= self.layers.stacked_at(at, old, now.layings)
        gone, come = self.pieces(old) - self.pieces(new), self.pieces(new) - self.pieces(old)
        if not gone and stacked >= 0:
            return None
        boards = self._boards(now, gone) if gone else []
        pieces = sum((now.loads[board] for board in boards), Pieces()) - gone + come
        more = come.total() - gone.total()
        tally = Tally(now.tally.boards - len(boards), now.tally.pieces + more, now.tally.stacked + stacked)
        return _Step(at, laying, boards, pieces, tally)

    def _chosen(self, now: State) -> int:
        """Return a layer by chance; half the time one with a piece on the emptiest board."""
        if self.chance.random() < 0.5:  # noqa: PLR2004 - heads or tails
            emptiest = min(range(len(now.piles)), key=lambda n: now.piles[n].area)
            load = now.loads[emptiest].keys()
            own = [at for at, one in enumerate(now.layings) if not load.isdisjoint(self.pieces(one))]
            return self.chance.choice(own)
        return self.chance.randrange(len(self.layers.slots))

    def _boards(self, now: State, gone: Pieces) -> list[int]:
        """Return the boards that a step cuts again: those of the pieces that go, and a few more."""
        blurred = [pile.area * (1 + 0.4 * self.chance.random()) for pile in now.piles]
        order = sorted(range(len(blurred)), key=blurred.__getitem__)
        chosen: list[int] = []
        for board in order:
            if not gone:
                break
            if not gone.keys().isdisjoint(now.loads[board]):
                chosen.append(board)
                gone = gone - now.loads[board]
        others = [board for board in order if board not in chosen]
        return chosen + others[: self.chance.randint(1, _MOST_OTHERS)]

    def _taken(self, now: State, step: _Step, slack: float) -> State:
        """Return the state once a step is carried out; as it is where that comes more than `slack` dearer."""
        most, area = self.scale.about(now.tally) + slack, self.whole.width * self.whole.height
        room = int((most - self.scale.about(step.tally)) / self.scale.unit + _FULLNESS * len(step.boards))
        room = min(room, len(step.boards) + 1)
        if room * area < sum(self.bench.area(kind) * n for kind, n in step.pieces.items()):
            return now
        sheets = [self.whole] * room
        piles = self.bench.fullest(list(step.pieces.elements()), sheets, _TRIES) if step.boards else []
        if piles is None:
            return now
        tally = step.tally._replace(boards=step.tally.boards + len(piles))
        fuller = (fullness(piles) - fullness(now.piles[n] for n in step.boards)) / area**2
        if self.scale.about(tally) - fuller * _FULLNESS * self.scale.unit > most:
            return now
        kept = [n for n in range(len(now.piles)) if n not in step.boards]
        layings = (*now.layings[: step.at], step.laying, *now.layings[step.at + 1 :])
        loads = (*(now.loads[n] for n in kept), *(pile.load() for pile in piles))
        return State(layings, (*(now.piles[n] for n in kept), *piles), loads, tally)


def leftovers(state: State, kerf: Nm, least: Nm) -> tuple[Nm, ...]:
    """Return the sides of what the boards leave over, none under `least`, those of the most area first."""
    weight: Counter[Nm] = Counter()
    for region in (region for pile in state.piles for region in pile.regions):
        for side in (region.width - kerf, region.height - kerf):
            weight[side] += region.width * region.height
    ordered = sorted(weight.items(), key=lambda one: (-one[1], one[0]))
    return tuple(side for side, _ in ordered if side >= max(1, least))


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
