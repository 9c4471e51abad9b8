"""Cavities laid anew, one layer at a time, as long as boards and pieces together come cheaper.

A step takes a layer of a cavity and another way to lay it, and cuts again the few boards that its pieces come
from and might go to. What comes out dearer is kept at first where it is not much dearer, less and less so
towards the end; the cheapest filling met on the way is what is returned. Steps are counted, not timed, and
chance is seeded: the same cavities give the same plan on every machine.

Source: acceptance by a threshold that falls; Dueck and Scheuer, Journal of Computational Physics 90 (1990)
161-175 (from memory).
"""

import random
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from estimator.core.units import Nm
from estimator.cutting.boards.costs import Scale, Tally
from estimator.cutting.boards.courses import Board
from estimator.cutting.boards.layings import Laying, Layings, Size, sizes_of
from estimator.cutting.boards.piles import Bench, Pile
from estimator.cutting.boards.stacking import Layers
from estimator.cutting.guillotine import Option, Region

_SEED = 20011
_TRIES = 3
"""Orders in which the pieces of a step are laid."""
_MOST_OTHERS = 3
"""Boards cut again besides those the step needs."""
_FULLNESS = 0.5
"""Boards that full boards and empty ones count against half-full ones: it is an empty board that can go."""


@dataclass(slots=True)
class State:
    """A filling: how each layer is laid, its pieces by kind, and the boards they are cut from."""

    layings: list[Laying]
    counts: list[Counter[int]]
    piles: list[Pile]
    loads: list[Counter[int]]
    tally: Tally

    def copy(self) -> "State":
        """Return a state that changes apart from this one; what it holds is replaced, never changed."""
        return State(
            self.layings.copy(), self.counts.copy(), self.piles.copy(), self.loads.copy(), self.tally
        )


@dataclass(frozen=True, slots=True)
class _Step:
    """A layer laid anew: the boards cut again, their pieces, and what the filling then comes to."""

    at: int
    laying: Laying
    counts: Counter[int]
    boards: list[int]
    pieces: Counter[int]
    tally: Tally


class Relaying:
    """The search: see the module."""

    def __init__(self, layers: Layers, board: Board, scale: Scale) -> None:
        """Take the layers to fill, the board, and what fillings are weighed by."""
        self.layers, self.board, self.scale = layers, board, scale
        self.chance = random.Random(_SEED)  # noqa: S311 - a search, not a secret
        whole = Region(0, 0, board.width + board.kerf, board.length + board.kerf)
        self.bench = Bench(whole, max(1, board.least) + board.kerf)
        self.whole = whole.width * whole.height
        self._kinds: dict[Size, int] = {}
        self.options: list[list[Option]] = []
        self.areas: list[int] = []

    def kind(self, size: Size) -> int:
        """Return the number of a size of piece, shorter side first."""
        if size not in self._kinds:
            number, kerf = len(self.options), self.board.kerf
            self._kinds[size] = number
            short, long = size[0] + kerf, size[1] + kerf
            ways = [(short, long)] + [(long, short)] * (long <= self.bench.whole.width and long > short)
            self.options.append([Option(wide, high, number) for wide, high in ways])
            self.areas.append(short * long)
        return self._kinds[size]

    def begun(self, layings: Sequence[Laying], piles: list[Pile] | None = None) -> State:
        """Return the filling of these layings, its boards cut afresh where none are given."""
        counts = [Counter(self.kind(size) for size in sizes_of(laying)) for laying in layings]
        every = [kind for count in counts for kind in count.elements()]
        piles = piles or self._piled(every, len(every)) or []
        on_seams = sum(self.layers.on_seams(at, laying) for at, laying in enumerate(layings))
        tally = Tally(len(piles), len(every), self.layers.stacked(layings), on_seams)
        return State(list(layings), counts, piles, [_load(pile) for pile in piles], tally)

    def _piled(self, kinds: Sequence[int], most: int) -> list[Pile] | None:
        """Return the pieces on boards, the fewest and the fullest of a few orders; None where none fits."""
        best: list[Pile] | None = None
        blur = self.chance.random
        for attempt in range(_TRIES):
            weights: Mapping[int, float] = {kind: self.areas[kind] for kind in kinds}
            if attempt:
                weights = {kind: area * (0.5 + blur()) for kind, area in weights.items()}
            order = sorted(kinds, key=lambda kind, w=weights: (-w[kind], kind))  # type: ignore[misc]
            largest = not attempt or blur() < 0.5  # noqa: PLR2004 - heads or tails
            piles = self.bench.piled([self.options[k] for k in order], most, keep_largest=largest)
            if piles is not None and (best is None or self._order(piles) < self._order(best)):
                best = piles
        return best

    def _order(self, piles: Sequence[Pile]) -> tuple[int, float]:
        return len(piles), -self._fullness(piles)

    def _fullness(self, piles: Sequence[Pile]) -> float:
        return sum((pile.area / self.whole) ** 2 for pile in piles)

    def improved(self, state: State, ways: Layings, steps: int, warmth: tuple[float, float]) -> State:
        """Return the cheapest filling met in `steps` steps from `state`, which may be that state.

        Args:
            state: where to begin; it is left as it is.
            ways: what makes layings.
            steps: how many are tried.
            warmth: how much dearer a step may come at first and at last, in boards.
        """
        now, best = state.copy(), state.copy()
        least = self.scale.worth(best.tally)
        first, last = warmth
        for number in range(steps if self.layers.slots else 0):
            slack = (first + (last - first) * number / steps) * self.scale.unit
            step = self._step(now, ways)
            if step is None or not self._taken(now, step, slack * self.chance.random() * 2):
                continue
            worth = self.scale.worth(now.tally)
            if worth < least:
                best, least = now.copy(), worth
        return best

    def _step(self, now: State, ways: Layings) -> _Step | None:
        """Return a step by chance, the plainer layings more often; None where it changes no piece."""
        at = self._chosen(now)
        hole, _ = self.layers.slots[at]
        some = ways.of(hole.width, hole.height)
        laying = some[int(len(some) * self.chance.random() ** 3)] if some else now.layings[at]
        placed = self.layers.arranged(at, laying, now.layings)
        if placed is None:
            return None
        counts = Counter(self.kind(size) for size in sizes_of(laying))
        gone, come = now.counts[at] - counts, counts - now.counts[at]
        before = self.layers.stacked_at(at, now.layings[at], now.layings)
        if not gone and placed[1] >= before:
            return None
        boards = self._boards(now, gone) if gone else []
        pieces: Counter[int] = Counter()
        for board in boards:
            pieces.update(now.loads[board])
        tally = now.tally._replace(
            pieces=now.tally.pieces + come.total() - gone.total(),
            stacked=now.tally.stacked + placed[1] - before,
            on_seams=now.tally.on_seams - self.layers.on_seams(at, now.layings[at]),
        )
        return _Step(at, placed[0], counts, boards, pieces - gone + come, tally)

    def _chosen(self, now: State) -> int:
        """Return a layer by chance; half the time one with a piece on the emptiest board."""
        if self.chance.random() < 0.5:  # noqa: PLR2004 - heads or tails
            emptiest = min(range(len(now.piles)), key=lambda n: now.piles[n].area)
            load = now.loads[emptiest]
            own = [at for at, count in enumerate(now.counts) if not load.keys().isdisjoint(count)]
            return self.chance.choice(own)
        return self.chance.randrange(len(self.layers.slots))

    def _boards(self, now: State, gone: Counter[int]) -> list[int]:
        """Return the boards that a step cuts again: those of the pieces that go, and a few more."""
        blur = self.chance.random
        blurred = [pile.area * (1 + 0.4 * blur()) for pile in now.piles]
        order = sorted(range(len(blurred)), key=blurred.__getitem__)
        chosen: list[int] = []
        for kind, number in gone.items():
            have = sum(now.loads[board][kind] for board in chosen)
            for board in order:
                if have >= number:
                    break
                if now.loads[board][kind] and board not in chosen:
                    chosen.append(board)
                    have += now.loads[board][kind]
        others = [board for board in order if board not in chosen]
        return chosen + others[: self.chance.randint(1, _MOST_OTHERS)]

    def _taken(self, now: State, step: _Step, slack: float) -> bool:
        """Carry a step out where the filling comes no more than `slack` dearer; return whether it did."""
        before, old = self.scale.worth(now.tally), [now.piles[board] for board in step.boards]
        room = self._room(step, before + slack)
        if room is None or room * self.whole < sum(self.areas[k] * n for k, n in step.pieces.items()):
            return False
        piles = self._piled(list(step.pieces.elements()), room) if old else []
        if piles is None:
            return False
        tally = step.tally._replace(boards=step.tally.boards - len(old) + len(piles))
        fuller = (self._fullness(piles) - self._fullness(old)) * _FULLNESS * self.scale.unit
        if self.scale.worth(tally) - fuller > before + slack:
            return False
        now.layings[step.at], now.counts[step.at], now.tally = step.laying, step.counts, tally
        kept = [n for n in range(len(now.piles)) if n not in step.boards]
        now.piles = [now.piles[n] for n in kept] + piles
        now.loads = [now.loads[n] for n in kept] + [_load(pile) for pile in piles]
        return True

    def _room(self, step: _Step, most: float) -> int | None:
        """Return how many boards the step's pieces may take; None where the step does not pay at all."""
        for more in (1, 0, -1):
            tally = step.tally._replace(boards=step.tally.boards + more)
            if self.scale.worth(tally) - more * _FULLNESS * self.scale.unit <= most:
                return len(step.boards) + more
        return None


def _load(pile: Pile) -> Counter[int]:
    return Counter(piece.kind for piece in pile.laid)


def leftovers(state: State, kerf: Nm) -> tuple[Nm, ...]:
    """Return the sides of what the boards leave over, those of the most area first."""
    weight: Counter[Nm] = Counter()
    for pile in state.piles:
        for region in pile.regions:
            for side in (region.width - kerf, region.height - kerf):
                weight[side] += region.width * region.height
    return tuple(side for side, _ in sorted(weight.items(), key=lambda w: (-w[1], w[0])) if side > 0)
