"""Cavities laid anew, one layer at a time, as long as boards and pieces together come cheaper.

A step takes a layer of a cavity and another way to lay it, and cuts again the few boards that its pieces come
from and might go to. What comes out dearer is kept at first where it is not much dearer, less and less so
towards the end; the cheapest filling met on the way is what is returned. Steps are counted, not timed, and
chance is seeded: the same cavities give the same plan on every machine.

Source: acceptance by a threshold that falls; Dueck and Scheuer, Journal of Computational Physics 90 (1990)
161-175 (from memory).
"""

from collections import Counter
from collections.abc import Sequence
from typing import NamedTuple, TypeAlias

from estimator.core.units import Nm
from estimator.cutting.boards.costs import Scale, Tally
from estimator.cutting.boards.layings import Laying, Layings, Size, sizes_of
from estimator.cutting.boards.stacking import Layers
from estimator.cutting.guillotine import Option, Region
from estimator.cutting.piles import Bench, Pile, fullness

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
