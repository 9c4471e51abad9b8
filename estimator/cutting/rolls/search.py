"""Laying pieces on a roll by straight cuts: a search of many starts that keeps the shortest.

Every start lays the pieces in levels across the roll, each filled by straight cuts; most first fill a block
of a chosen length, and lay what is left above it. Half the starts have nothing to do with each other; the
others change the best ones little by little.
"""

import random
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import NamedTuple, TypeAlias

from estimator.core.units import Nm
from estimator.cutting.guillotine import SPLITS, Laid, Option, Region, Split, fill

Progress: TypeAlias = Callable[[float], None]
"""Told the share of the work done, from 0 to 1, as a search goes on."""

_SEED = 4711
"""Any: with it the same pieces give the same laying."""
_BLURS = (0.05, 0.2, 0.5)
"""Shares by which sizes are blurred in the orders that come after the usual ones."""
_KEYS: tuple[Callable[[Option], int], ...] = (
    lambda o: o.height,
    lambda o: o.width * o.height,
    lambda o: max(o.width, o.height),
    lambda o: o.width,
    lambda o: o.width + o.height,
)
_PLAIN = len(_KEYS) * len(SPLITS)
"""The usual orders, each with every way of cutting."""
_KEPT = 4
"""Layings kept to go on from."""
_CLIMB = 150
"""Changes to a start before another is taken."""
_NEAR, _SWAP, _KEEP = 0.5, 0.5, 0.9
"""How often an option goes near by, changes places, and the cut stays: own judgement, as all of these."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is to be laid.

    Attributes:
        options: positions of the kinds that fit across the roll.
        counts: how many of each kind.
        width: width of the roll.
        bound: no laying is shorter.
    """

    options: tuple[Option, ...]
    counts: tuple[int, ...]
    width: Nm
    bound: Nm


def used_length(laid: Sequence[Laid]) -> Nm:
    """Return how much of the roll is used."""
    return max((piece.y + piece.height for piece in laid), default=0)


class Start(NamedTuple):
    """How a laying comes about: the order of the options, how regions are divided, the block filled first."""

    order: tuple[Option, ...]
    split: Split
    block: Nm


class _Tried(NamedTuple):
    """A laying, its length, and minus the area laid in its block: the less the better."""

    length: Nm
    unlaid: int
    start: Start
    laid: list[Laid]


def lay(wanted: Wanted, start: Start) -> _Tried:
    """Return every piece laid: a block filled first, then levels across the roll with what is left."""
    left = list(wanted.counts)
    laid: list[Laid] = []
    area = 0
    if start.block:
        filled = fill(Region(0, 0, wanted.width, start.block), start.order, left, start.split)
        laid, area = list(filled.laid), filled.area
    top = used_length(laid)
    for first in start.order:
        while left[first.kind]:
            region = Region(0, top, wanted.width, first.height)
            level = fill(region, start.order, left, start.split).laid
            times = 1 + _again(level, left)
            laid += [piece._replace(y=piece.y + n * first.height) for n in range(times) for piece in level]
            top += times * first.height
    return _Tried(used_length(laid), -area, start, laid)


def _again(level: Sequence[Laid], left: list[int]) -> int:
    """Return how often a level can be laid once more with what is left, and take that away."""
    need = Counter(piece.kind for piece in level)
    times = min(left[kind] // number for kind, number in need.items())
    for kind, number in need.items():
        left[kind] -= times * number
    return times


def _fresh(wanted: Wanted, step: int, block: Nm, chance: random.Random) -> Start:
    """Return a start of its own: the usual orders first, then those with their sizes blurred."""
    if step < _PLAIN:
        key, blur, split = _KEYS[step % len(_KEYS)], 0.0, SPLITS[step // len(_KEYS)]
    else:
        key, blur, split = chance.choice(_KEYS), chance.choice(_BLURS), chance.choice(SPLITS)
    weights = {o: key(o) * (1 + blur * chance.uniform(-1, 1)) for o in wanted.options}
    return Start(tuple(sorted(wanted.options, key=lambda o: (-weights[o], o))), split, block)


def _neighbour(start: Start, chance: random.Random) -> Start:
    """Return a start with a few options elsewhere in the order."""
    order = list(start.order)
    for _ in range(chance.choice((1, 1, 2, 3))):
        one = chance.randrange(len(order))
        near = min(len(order) - 1, max(0, one + chance.randint(-5, 5)))
        other = near if chance.random() < _NEAR else chance.randrange(len(order))
        if chance.random() < _SWAP:
            order[one], order[other] = order[other], order[one]
        else:
            order.insert(other, order.pop(one))
    split = start.split if chance.random() < _KEEP else chance.choice(SPLITS)
    return Start(tuple(order), split, start.block)


class _Search:
    """The best layings so far, and how many may still be tried."""

    def __init__(self, wanted: Wanted, tries: int, progress: Progress | None) -> None:
        self.wanted, self.tries, self.progress = wanted, tries, progress
        self.chance = random.Random(_SEED)  # noqa: S311 - a search, not a secret
        self.done = 0
        self.best: list[_Tried] = []

    @property
    def over(self) -> bool:
        """Return whether the bound is met or every try is spent."""
        met = bool(self.best) and self.best[0].length <= self.wanted.bound
        return met or self.done >= self.tries

    def attempt(self, start: Start) -> _Tried:
        """Lay from a start and keep the laying among the best if it is one of them."""
        tried = lay(self.wanted, start)
        self.done += 1
        self.best = sorted([*self.best, tried], key=lambda t: t[:2])[:_KEPT]
        if self.progress:
            self.progress(min(1.0, self.done / self.tries))
        return tried

    def block(self) -> Nm:
        """Return a length between the bound and what is best so far."""
        return self.chance.randint(self.wanted.bound, max(self.wanted.bound, self.best[0].length - 1))

    def scatter(self, until: int) -> None:
        """Try starts that have nothing to do with each other."""
        while not self.over and self.done < until:
            block = self.block() if self.best and self.done % 2 else 0
            self.attempt(_fresh(self.wanted, self.done, block, self.chance))

    def climb(self, start: Start) -> None:
        """Change a start little by little, going on from whatever lays no less in its block."""
        here = self.attempt(start)
        for _ in range(_CLIMB):
            if self.over or start.block >= self.best[0].length:
                return
            tried = self.attempt(_neighbour(here.start, self.chance))
            if tried.unlaid <= here.unlaid:
                here = tried


def search(wanted: Wanted, tries: int, progress: Progress | None = None) -> list[Laid]:
    """Return the shortest laying found in `tries` tries; stops at once where it meets the bound.

    Args:
        wanted: the pieces.
        tries: how many layings are tried.
        progress: told the share of the work done, from 0 to 1.
    """
    state = _Search(wanted, tries, progress)
    state.scatter(max(min(_PLAIN, tries), tries // 2))
    climbs = 0
    while not state.over:
        start = state.best[climbs % len(state.best)].start
        if climbs >= _KEPT and climbs % 3 == 0:
            start = _fresh(wanted, _PLAIN, 0, state.chance)
        if climbs >= _KEPT or not start.block or start.block >= state.best[0].length:
            start = start._replace(block=state.block())
        state.climb(start)
        climbs += 1
    return state.best[0].laid
