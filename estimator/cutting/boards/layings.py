"""Layings: ways to fill one layer of a cavity with few pieces, by cuts from edge to edge.

A laying is made as a joiner makes it: whole boards first, then what is left, each part in the same way.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import product
from typing import NamedTuple, TypeAlias

from estimator.core.units import Nm

_KEPT = 32
"""Layings kept of a cavity, those of the fewest pieces."""
_SLICED = 4
"""Lengths left over that pieces are made up of in slices, and the most slices: more are tedious to cut."""
_PLAIN = 2
"""Layings kept of each part of a cavity."""
_LONG = 6
"""Boards in a row, as in a hall, that are halved before anything else is thought of."""


@dataclass(frozen=True, slots=True)
class Board:
    """A board as the saw sees it: `width` is its shorter side; `least` the smallest side a piece may have."""

    width: Nm
    length: Nm
    kerf: Nm
    least: Nm


class Spot(NamedTuple):
    """A piece where it lies in its cavity: lower-left corner and size."""

    x: Nm
    y: Nm
    width: Nm
    height: Nm


Laying: TypeAlias = tuple[Spot, ...]
Size: TypeAlias = tuple[Nm, Nm]
Part: TypeAlias = Callable[[Nm, Nm], list[Laying]]


def sizes_of(laying: Laying) -> tuple[Size, ...]:
    """Return the sizes of the pieces as the saw sees them: shorter side, longer side; in order."""
    return tuple(sorted((min(s.width, s.height), max(s.width, s.height)) for s in laying))


def flipped(laying: Laying, width: Nm, height: Nm, *, across: bool, up: bool) -> Laying:
    """Return the laying in the mirror: left and right, or top and bottom, or both changed over."""
    return tuple(
        sorted(
            Spot(
                width - s.x - s.width if across else s.x,
                height - s.y - s.height if up else s.y,
                s.width,
                s.height,
            )
            for s in laying
        )
    )


@dataclass(slots=True)
class Layings:
    """What makes layings from one board.

    Attributes:
        board: the board.
        partners: lengths worth cutting a piece to, for they use up what other cavities leave of a board.
    """

    board: Board
    partners: tuple[Nm, ...] = ()
    _plain: dict[Size, list[Laying]] = field(default_factory=dict)
    _found: dict[Size, list[Laying]] = field(default_factory=dict)

    def using(self, partners: tuple[Nm, ...]) -> "Layings":
        """Return what makes layings with other partners."""
        return Layings(self.board, partners, self._plain)

    def of(self, width: Nm, height: Nm) -> list[Laying]:
        """Return ways to fill a cavity, the fewest pieces first."""
        size = width, height
        if size not in self._found:
            self._found[size] = self._made(width, height)
        return self._found[size]

    def _made(self, width: Nm, height: Nm) -> list[Laying]:
        found = [*self._simple(width, height), *self._sliced(width, height)]
        wide, high = self._cuts(width), self._cuts(height)
        found += self._divided((width, height), wide, high, self._sliced)
        wide, high = [*wide, *self._odd_cuts(width)], [*high, *self._odd_cuts(height)]
        found += self._divided((width, height), wide, high)
        return sorted({tuple(sorted(laying)) for laying in found}, key=_plainness)[:_KEPT]

    def _fits(self, width: Nm, height: Nm) -> bool:
        short, long = min(width, height), max(width, height)
        return short <= self.board.width and long <= self.board.length

    def _simple(self, width: Nm, height: Nm) -> list[Laying]:
        """Return the plainest fillings of a part of a cavity."""
        size = width, height
        if size not in self._plain:
            if self._fits(width, height):
                self._plain[size] = [(Spot(0, 0, width, height),)]
            else:
                ways = self._divided(size, self._cuts(width), self._cuts(height))
                self._plain[size] = sorted(ways, key=_plainness)[:_PLAIN]
        return self._plain[size]

    def _divided(
        self, size: Size, wide: Sequence[Nm], high: Sequence[Nm], last: Part | None = None
    ) -> Iterator[Laying]:
        """Return the fillings of two parts, left and right or bottom and top; `last` fills the second."""
        width, height = size
        last = last or self._simple
        for at in wide:
            for one, other in product(self._simple(at, height), last(width - at, height)):
                yield _joined(one, other, at, 0)
        for at in high:
            for one, other in product(self._simple(width, at), last(width, height - at)):
                yield _joined(one, other, 0, at)

    def _sliced(self, width: Nm, height: Nm) -> list[Laying]:
        """Return the ways to make up a piece of slices as broad as what others leave."""
        if not self._fits(width, height):
            return []
        found: list[Laying] = []
        for side in self.partners[:_SLICED]:
            if _even(width, side, self.board.least):
                starts = range(0, width, side)
                found.append(tuple(Spot(x, 0, min(side, width - x), height) for x in starts))
            if _even(height, side, self.board.least):
                starts = range(0, height, side)
                found.append(tuple(Spot(0, y, width, min(side, height - y)) for y in starts))
        return found

    def _cuts(self, extent: Nm) -> list[Nm]:
        """Return where a joiner divides: after the last whole board; before it where that leaves a sliver."""
        least = max(1, self.board.least)
        if extent > _LONG * self.board.length:
            return [extent // 2 // self.board.length * self.board.length]
        cuts: dict[Nm, None] = {}
        for side in (self.board.length, self.board.width):
            at = (extent - 1) // side * side
            rest = extent - at
            if at and rest >= least:
                cuts[at] = None
            elif at:
                cuts[extent - least] = None
                cuts[at - side + (side + rest) // 2] = None
        if not cuts and extent >= 2 * least:
            cuts[extent // 2] = None
        return [at for at in cuts if least <= at <= extent - least]

    def _odd_cuts(self, extent: Nm) -> list[Nm]:
        """Return other places: halves, and pieces that use up what others leave."""
        least = max(1, self.board.least)
        places = (extent // 2, self.board.width, self.board.length // 2, *self.partners)
        return [at for at in dict.fromkeys(places) if least <= at <= extent - least]


def _even(extent: Nm, side: Nm, least: Nm) -> bool:
    """Return whether a few slices make up an extent without a sliver."""
    rest = extent % side
    return side < extent <= _SLICED * side and (not rest or rest >= least)


def _joined(one: Laying, other: Laying, x: Nm, y: Nm) -> Laying:
    return one + tuple([Spot(s.x + x, s.y + y, s.width, s.height) for s in other])


def _plainness(laying: Laying) -> tuple[int, int, Laying]:
    """Return what the plainest filling has least of: pieces, then parts of boards instead of whole ones."""
    return len(laying), -sum((spot.width * spot.height) ** 2 for spot in laying), laying
