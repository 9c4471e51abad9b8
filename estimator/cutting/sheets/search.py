"""Sheets cut from a few orders of the pieces, then a few sheets at a time cut again while that costs less."""

from collections.abc import Callable, Sequence
from decimal import Decimal
from typing import NamedTuple, TypeAlias

from estimator.core.errors import InputError, Problem
from estimator.core.units import Nm
from estimator.cutting.guillotine import Region, options_of
from estimator.cutting.piles import Bench, Pile, fullness
from estimator.cutting.plans import SheetStock

Progress: TypeAlias = Callable[[float], None]
"""Told the share of the work done, from 0 to 1, as a search goes on."""
Kind: TypeAlias = tuple[Nm, Nm, bool]
"""Width and height grown by the kerf, and whether it may be turned."""

_WORK, _MOST_STARTS = 2_000, 30
"""Pieces laid in all to begin with from each stock, and the most orders that they are laid in."""
_REPAIRS = 400
"""Times that a few sheets are cut again; most that is gained is gained in the first hundred."""
_TRIES = 4
"""Orders tried each time."""
_SEED = 20011
"""Any: with it the same pieces give the same plan."""


class Cut(NamedTuple):
    """A sheet: of which stock, and what is laid on it."""

    stock: int
    pile: Pile


class _Sheets:
    """What can be bought, and the pieces to be cut from it."""

    def __init__(self, kinds: Sequence[Kind], stocks: Sequence[SheetStock], kerf: Nm) -> None:
        self.stocks = stocks
        self.regions = [Region(0, 0, s.width + kerf, s.height + kerf) for s in stocks]
        options = options_of(kinds)
        least = min(min(option.width, option.height) for option in options)
        ways = [[option for option in options if option.kind == kind] for kind in range(len(kinds))]
        self.bench = Bench(ways, least, _SEED)

    def cost(self, cuts: Sequence[Cut]) -> Decimal:
        return sum((self.stocks[cut.stock].price for cut in cuts), Decimal(0))

    def worth(self, cuts: Sequence[Cut]) -> tuple[Decimal, int]:
        """Return what is to be least: the cost, then how evenly sheets are filled."""
        return self.cost(cuts), -fullness(cut.pile for cut in cuts)

    def cut(self, pieces: Sequence[int], offered: Sequence[int], tries: int) -> list[Cut] | None:
        """Return pieces cut from the stocks offered, begun in that order, each sheet the cheapest there is.

        A sheet whose pieces all fit a cheaper stock that is offered as well is cut from that.
        """
        piles = self.bench.fullest(pieces, [self.regions[stock] for stock in offered], tries)
        if piles is None:
            return None
        spare = list(offered)
        for pile in piles:
            spare.remove(offered[pile.sheet])
        return [self._cheaper(Cut(offered[pile.sheet], pile), spare) for pile in piles]

    def _cheaper(self, cut: Cut, spare: list[int]) -> Cut:
        pieces = [laid.kind for laid in cut.pile.laid]
        for stock in sorted(set(spare), key=lambda k: self.stocks[k].price):
            region = self.regions[stock]
            small = region.width * region.height < cut.pile.area
            if self.stocks[stock].price >= self.stocks[cut.stock].price:
                break
            again = None if small else self.bench.fullest(pieces, [region], _TRIES)
            if again is not None:
                spare.remove(stock)
                return Cut(stock, again[0])
        return cut

    def offers(self, main: int, number: int) -> list[int]:
        """Return the stocks that can be had, `main` first and then by price for area, `number` at most."""

        def dear(stock: int) -> tuple[bool, Decimal]:
            region = self.regions[stock]
            return stock != main, self.stocks[stock].price / (region.width * region.height)

        limits = [number if s.limit is None else min(s.limit, number) for s in self.stocks]
        return [stock for stock in sorted(range(len(limits)), key=dear) for _ in range(limits[stock])]

    def again(self, cuts: list[Cut]) -> list[Cut]:
        """Return the plan with a few sheets, the emptiest among them, cut again where that is better."""
        chance = self.bench.chance
        order = sorted(range(len(cuts)), key=lambda n: cuts[n].pile.area)
        some = [order[0], *chance.sample(order[1:], min(len(order) - 1, chance.randint(1, 3)))]
        old, kept = [cuts[n] for n in some], [cut for n, cut in enumerate(cuts) if n not in some]
        offered = [cut.stock for cut in old]
        chance.shuffle(offered)
        other = chance.randrange(len(self.stocks))
        used, limit = sum(cut.stock == other for cut in cuts), self.stocks[other].limit
        more = len(old) if limit is None else min(len(old), limit - used)
        offered = [other] * more + offered if chance.random() < 0.5 else offered + [other] * more  # noqa: PLR2004
        new = self.cut([laid.kind for cut in old for laid in cut.pile.laid], offered, _TRIES)
        return kept + new if new is not None and self.worth(new) < self.worth(old) else cuts


def search(
    kinds: Sequence[Kind],
    pieces: Sequence[int],
    stocks: Sequence[SheetStock],
    kerf: Nm,
    bound: Decimal,
    progress: Progress,
) -> list[Cut]:
    """Return the cheapest plan found; the search ends where it meets the bound.

    Args:
        kinds: the sizes.
        pieces: the kind of each piece.
        stocks: what can be bought.
        kerf: width of the saw cut.
        bound: no plan costs less.
        progress: told how far the work is.

    Raises:
        InputError: too few sheets.
    """
    sheets = _Sheets(kinds, stocks, kerf)
    tries = max(1, min(_MOST_STARTS, _WORK // len(pieces)))
    begun = [sheets.cut(pieces, sheets.offers(main, len(pieces)), tries) for main in range(len(stocks))]
    found = [cuts for cuts in begun if cuts is not None]
    if not found:
        fix = "Raise a sheet's limit, or add another sheet."
        raise InputError([Problem("sheet", "not enough sheets within their limits for every piece", fix)])
    best = min(found, key=sheets.worth)
    for step in range(_REPAIRS):
        if sheets.cost(best) <= bound or len(best) == 1:
            break
        best = sheets.again(best)
        progress(0.2 + 0.8 * step / _REPAIRS)
    progress(1.0)
    return best
