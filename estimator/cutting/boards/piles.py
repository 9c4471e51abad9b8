"""Pieces piled on few boards, quickly: what a search that tries thousands of times can afford."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from estimator.core.units import Nm
from estimator.cutting.guillotine import Laid, Option, Region, closest


@dataclass(slots=True)
class Pile:
    """A board: what is laid on it, the regions still whole, and the area laid; sizes grown by the kerf."""

    laid: list[Laid] = field(default_factory=list)
    regions: list[Region] = field(default_factory=list)
    area: int = 0


class _Open(NamedTuple):
    """A region of a pile that a piece may still be laid in."""

    x: Nm
    y: Nm
    width: Nm
    height: Nm
    pile: Pile


@dataclass(frozen=True, slots=True)
class Bench:
    """Where boards are cut.

    Attributes:
        whole: a whole board, grown by the kerf.
        least: the narrowest region worth keeping for a piece, grown by the kerf.
    """

    whole: Region
    least: Nm

    def piled(
        self, pieces: Sequence[Sequence[Option]], most: int, *, keep_largest: bool
    ) -> list[Pile] | None:
        """Return the pieces on boards, each laid where it fits closest; None where they need too many.

        Args:
            pieces: for each piece, in the order they are laid, the positions it may take.
            most: how many boards there are.
            keep_largest: whether the cut is made that leaves the largest region.
        """
        piles: list[Pile] = []
        regions: list[_Open] = []
        for ways in pieces:
            found = closest(ways, regions)
            if found is None:
                if len(piles) >= most:
                    return None
                piles.append(Pile())
                regions.append(_Open(*self.whole, piles[-1]))
                found = closest(ways, regions[-1:])
                if found is None:
                    return None
                found = found._replace(at=len(regions) - 1)
            self._lay(regions, found.at, found.option, keep_largest=keep_largest)
        for region in regions:
            region.pile.regions.append(Region(*region[:4]))
        return piles

    def _lay(self, regions: list[_Open], at: int, option: Option, *, keep_largest: bool) -> None:
        """Lay a piece in a region, and put what is left of that among the regions."""
        x, y, wide, high, pile = regions[at]
        width, height, kind = option
        pile.laid.append(Laid(kind, x, y, width, height))
        pile.area += width * height
        right, top = wide - width, high - height
        if right >= self.least and top >= self.least:
            whole = max(right * high, width * top) > max(right * height, wide * top)
            along = whole == keep_largest
        else:
            along = right >= self.least
        beside, above = (high, width) if along else (height, wide)
        regions[at] = regions[-1]
        regions.pop()
        for part in (
            _Open(x + width, y, right, beside, pile),
            _Open(x, y + height, above, top, pile),
        ):
            if part.width >= self.least and part.height >= self.least:
                regions.append(part)
            elif part.width > 0 and part.height > 0:
                pile.regions.append(Region(*part[:4]))
