"""Pieces piled on few boards or sheets, quickly: what a search that tries thousands of times can afford."""

import random
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from estimator.core.units import Nm
from estimator.cutting.guillotine import Laid, Option, Region, Spot, closest
from estimator.cutting.plans import Rectangle

_MOST_OPEN = 150
"""Regions that a piece is tried in, the youngest: of thousands the old ones are the small ones."""
_BLUR = 0.5
"""Share of its area by which a piece may come earlier or later than its turn (own judgement)."""


@dataclass(slots=True)
class Pile:
    """A board or sheet: what is laid on it, the regions still whole, the area laid; grown by the kerf.

    Attributes:
        sheet: which of the sheets given it is.
    """

    sheet: int
    laid: list[Laid] = field(default_factory=list)
    regions: list[Region] = field(default_factory=list)
    area: int = 0

    def load(self) -> Counter[int]:
        """Return how many of each kind are laid on it."""
        return Counter(piece.kind for piece in self.laid)


class _Open(NamedTuple):
    """A region of a pile that a piece may still be laid in."""

    x: Nm
    y: Nm
    width: Nm
    height: Nm
    pile: Pile


def fullness(piles: Iterable[Pile]) -> int:
    """Return what is most where some are full and others nearly empty, which a search can do without."""
    return sum(pile.area**2 for pile in piles)


class Bench:
    """Where pieces are cut.

    Attributes:
        options: for each kind of piece the positions it may take, grown by the kerf.
        least: the narrowest region worth keeping for a piece, grown by the kerf.
    """

    def __init__(self, options: list[list[Option]], least: Nm, seed: int) -> None:
        """Take the kinds, which may become more, and the seed of all chance."""
        self.options, self.least = options, least
        self.chance = random.Random(seed)  # noqa: S311 - a search, not a secret

    def area(self, kind: int) -> int:
        """Return the area of a piece."""
        return self.options[kind][0].width * self.options[kind][0].height

    def fullest(self, kinds: Sequence[int], sheets: Sequence[Region], tries: int) -> list[Pile] | None:
        """Return pieces on the fewest and fullest sheets of a few orders; None where none holds them.

        Args:
            kinds: the pieces.
            sheets: the sheets, in the order they are begun; one too small for a piece waits for another.
            tries: how many orders: the largest first, then those blurred.
        """
        found = []
        for attempt in range(tries):
            weights = {kind: float(self.area(kind)) for kind in kinds}
            if attempt:
                weights = {kind: area * (_BLUR + self.chance.random()) for kind, area in weights.items()}
            order = sorted(kinds, key=lambda kind, by=weights: (-by[kind], kind))  # type: ignore[misc]
            largest = not attempt or self.chance.random() < 0.5  # noqa: PLR2004 - heads or tails
            piles = self._piled(order, sheets, keep_largest=largest)
            if piles is not None:
                found.append(piles)
        return min(found, key=lambda piles: (len(piles), -fullness(piles)), default=None)

    def _piled(
        self, kinds: Sequence[int], sheets: Sequence[Region], *, keep_largest: bool
    ) -> list[Pile] | None:
        """Return the pieces on sheets, each laid where it fits closest; None where they need too many."""
        piles: list[Pile] = []
        regions: list[_Open] = []
        waiting = list(range(len(sheets)))
        for ways in (self.options[kind] for kind in kinds):
            start = max(0, len(regions) - _MOST_OPEN)
            spot = closest(ways, regions[start:])
            if spot is None:
                begun = _first(ways, sheets, waiting)
                if begun is None:
                    return None
                waiting.remove(begun[0])
                piles.append(Pile(begun[0]))
                start, spot = len(regions), begun[1]
                regions.append(_Open(*sheets[begun[0]], piles[-1]))
            self._lay(regions, start + spot.at, spot.option, keep_largest=keep_largest)
        for region in regions:
            region.pile.regions.append(Region(*region[:4]))
        return piles

    def _lay(self, regions: list[_Open], at: int, option: Option, *, keep_largest: bool) -> None:
        """Lay a piece in a region, and put what is left of that among the regions."""
        x, y, wide, high, pile = regions.pop(at)
        width, height, kind = option
        pile.laid.append(Laid(kind, x, y, width, height))
        pile.area += width * height
        right, top = wide - width, high - height
        along = right >= self.least
        if along and top >= self.least:
            whole = max(right * high, width * top) > max(right * height, wide * top)
            along = whole == keep_largest
        beside, above = (high, width) if along else (height, wide)
        for part in (_Open(x + width, y, right, beside, pile), _Open(x, y + height, above, top, pile)):
            if part.width >= self.least and part.height >= self.least:
                regions.append(part)
            elif part.width > 0 and part.height > 0:
                pile.regions.append(Region(*part[:4]))


def offcuts(regions: Iterable[Region], kerf: Nm) -> tuple[Rectangle, ...]:
    """Return what is left over of a sheet, the kerf that regions are grown by taken off."""
    whole = [Rectangle(r.x, r.y, r.width - kerf, r.height - kerf) for r in regions]
    return tuple(rest for rest in whole if rest.width > 0 and rest.height > 0)


def _first(
    ways: Sequence[Option], sheets: Sequence[Region], waiting: Sequence[int]
) -> tuple[int, Spot] | None:
    """Return the first sheet still to be had that a piece fits, and how it lies there."""
    tried = set[Region]()
    for number in waiting:
        if sheets[number] not in tried:
            tried.add(sheets[number])
            spot = closest(ways, sheets[number : number + 1])
            if spot is not None:
                return number, spot
    return None
