"""Sheets filled side by side: each piece goes where it fits best among all sheets begun."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from estimator.cutting.guillotine import Filling, Laid, Option, Region, Split, divide
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
    """Return the region that leaves least to spare one way, and how the piece lies there."""
    best: tuple[Begun, Region, Option] | None = None
    least = other = 0
    for sheet in sheets:
        for region in sheet.regions:
            wide, high = region[2], region[3]
            for option in ways:
                tight, slack = wide - option[0], high - option[1]
                if tight < 0 or slack < 0:
                    continue
                if tight > slack:
                    tight, slack = slack, tight
                if best is None or tight < least or (tight == least and slack < other):
                    best, least, other = (sheet, region, option), tight, slack
    return best


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
