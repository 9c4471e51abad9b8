"""Sheets filled side by side: each piece goes where it fits best among all sheets begun."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from estimator.cutting.guillotine import Filling, Laid, Option, Region, Split, Spot, closest, divide
from estimator.cutting.plans import SheetStock


@dataclass(slots=True)
class Begun:
    """A sheet begun: what is laid on it, and the regions still whole."""

    stock: SheetStock
    regions: list[Region]
    laid: list[Laid] = field(default_factory=list)

    def filling(self) -> Filling:
        """Return what was laid, and what is left over."""
        return Filling(tuple(self.laid), tuple(self.regions))


def _best_place(ways: Sequence[Option], sheets: Sequence[Begun]) -> tuple[Begun, Region, Option] | None:
    """Return the region of all sheets that leaves least to spare one way, and how the piece lies there."""
    best: tuple[Begun, Spot] | None = None
    for sheet in sheets:
        spot = closest(ways, sheet.regions)
        if spot is not None and (best is None or spot[:2] < best[1][:2]):
            best = sheet, spot
    return None if best is None else (best[0], best[0].regions[best[1].at], best[1].option)


def spread(
    ways: Sequence[Sequence[Option]], stocks: Sequence[tuple[SheetStock, Region]], split: Split
) -> list[Begun] | None:
    """Return sheets that hold every piece; None where the stocks' limits do not allow it.

    Args:
        ways: for each piece, in the order they are laid, the positions it may take.
        stocks: the sheets, the one to begin first; each with its whole region.
        split: see `guillotine.divide`.
    """
    sheets: list[Begun] = []
    used = {stock.key: 0 for stock, _ in stocks}
    least = min((min(o.width, o.height) for way in ways for o in way), default=0)
    for way in ways:
        place = _best_place(way, sheets)
        if place is None:
            place = _begin(way, stocks, used)
            if place is None:
                return None
            sheets.append(place[0])
        sheet, region, option = place
        sheet.laid.append(Laid(option.kind, region.x, region.y, option.width, option.height))
        sheet.regions.remove(region)
        sheet.regions += divide(region, option.width, option.height, least, split)
    return sheets


def _begin(
    way: Sequence[Option], stocks: Sequence[tuple[SheetStock, Region]], used: dict[str, int]
) -> tuple[Begun, Region, Option] | None:
    """Return a new sheet for a piece, of the first stock that takes it and can still be had."""
    for stock, region in stocks:
        if stock.limit is not None and used[stock.key] >= stock.limit:
            continue
        sheet = Begun(stock, [region])
        place = _best_place(way, [sheet])
        if place:
            used[stock.key] += 1
            return place
    return None
