"""Laying pieces on a roll by straight cuts: a search of many starts that keeps the shortest.

Every start lays the pieces in levels across the roll, each filled by straight cuts; some first fill a
block of a chosen length, and lay what is left above it.
"""

import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from estimator.core.units import Nm
from estimator.cutting.guillotine import SPLITS, Laid, Option, Region, Split, fill

_SEED = 4711
_BLURS = (0.05, 0.2, 0.5)
_KEYS: tuple[Callable[[Option], int], ...] = (
    lambda o: o.height,
    lambda o: o.width * o.height,
    lambda o: max(o.width, o.height),
    lambda o: o.width,
    lambda o: o.width + o.height,
)
_PLAIN = len(_KEYS) * len(SPLITS)


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


def lay(wanted: Wanted, order: Sequence[Option], block: Nm, split: Split) -> list[Laid]:
    """Return every piece laid, taken in `order`.

    Args:
        wanted: the pieces.
        order: their positions, the most urgent first.
        block: length filled as one block before the levels begin, 0 for none.
        split: see `guillotine.divide`.
    """
    left = list(wanted.counts)
    laid: list[Laid] = []
    top = 0
    if block:
        laid += fill(Region(0, 0, wanted.width, block), order, left, split).laid
        top = used_length(laid)
    for first in order:
        while left[first.kind]:
            laid += fill(Region(0, top, wanted.width, first.height), order, left, split).laid
            top += first.height
    return laid


def _start(wanted: Wanted, step: int, chance: random.Random) -> tuple[list[Option], Split]:
    """Return the order and split of a start: the usual orders first, then those with their sizes blurred."""
    if step < _PLAIN:
        key, blur, split = _KEYS[step % len(_KEYS)], 0.0, SPLITS[step // len(_KEYS)]
    else:
        key, blur, split = chance.choice(_KEYS), chance.choice(_BLURS), chance.choice(SPLITS)
    weights = {o: key(o) * (1 + blur * chance.uniform(-1, 1)) for o in wanted.options}
    return sorted(wanted.options, key=lambda o: (-weights[o], o)), split


def search(wanted: Wanted, starts: int, progress: Callable[[float], None] | None = None) -> list[Laid]:
    """Return the shortest laying found in `starts` starts; stops at once where it meets the bound."""
    chance = random.Random(_SEED)  # noqa: S311 - a search, not a secret
    best: list[Laid] = []
    for step in range(starts):
        order, split = _start(wanted, step, chance)
        block = 0
        if best and step % 2:
            block = chance.randint(wanted.bound, max(wanted.bound, used_length(best) - 1))
        laid = lay(wanted, order, block, split)
        if not best or used_length(laid) < used_length(best):
            best = laid
        if progress:
            progress((step + 1) / starts)
        if used_length(best) <= wanted.bound:
            break
    return best
