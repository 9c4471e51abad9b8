"""Rectangles cut from sheets by straight cuts, at the least cost that a search finds.

The search piles the pieces on sheets in a few orders and cuts a few sheets at a time again; the bound says
how far from perfect it can be at most. Kerf is taken up by growing every piece and every sheet by one kerf:
two pieces a kerf apart are then two grown pieces that touch.
"""

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Sequence
from decimal import ROUND_CEILING, Decimal
from fractions import Fraction
from math import ceil, gcd, prod
from typing import NamedTuple, TypeAlias

from estimator.core.errors import InputError, Problem
from estimator.core.units import Nm, format_length
from estimator.cutting.guillotine import Region, options_of
from estimator.cutting.piles import Bench, Pile, fullness, offcuts
from estimator.cutting.plans import MOST_PIECES, CutSheet, Placed, SheetPiece, SheetPlan, SheetStock

_THRESHOLDS = 12
"""Thresholds tried each way: their pairs are what takes time, and further ones rarely raise a bound."""
_MOST_MIXES = 20_000
"""Numbers of sheets of each stock that are all tried: some hundredths of a second."""

Size = tuple[Nm, Nm, bool, int]
"""Width, height, may turn, count."""


def _conservative(size: Nm, whole: Nm, threshold: Nm) -> Nm:
    """Return `size` under a dual feasible function: sizes that fit in `whole` together still do.

    Source: S. P. Fekete and J. Schepers, "New classes of fast lower bounds for bin packing problems",
    Math. Programming 91 (2001), function U (from memory).
    """
    if size > whole - threshold:
        return whole
    return size if size >= threshold else 0


def _thresholds(sides: Iterable[Nm], whole: Nm) -> list[Nm]:
    marks = sorted({min(side, whole - side) + 1 for side in sides if 0 < side < whole}, reverse=True)
    usable = [mark for mark in marks if 2 * mark <= whole]
    return [0, *usable[:: max(1, -(-len(usable) // _THRESHOLDS))]]


def sheet_count_bound(sizes: Sequence[Size], width: Nm, height: Nm) -> int:
    """Return a number of `width` x `height` sheets that no plan goes below.

    Args:
        sizes: the pieces, each of which fits the sheet.
        width: width of the sheet.
        height: height of the sheet.
    """
    sides = {side for wide, high, _, _ in sizes for side in (wide, high)}
    best = 0
    for across in _thresholds(sides, width):
        for along in _thresholds(sides, height):
            total = sum(n * _least(w, h, turn, (width, across), (height, along)) for w, h, turn, n in sizes)
            best = max(best, -(-total // (width * height)))
    return best


def _least(wide: Nm, high: Nm, turn: bool, across: tuple[Nm, Nm], along: tuple[Nm, Nm]) -> int:  # noqa: FBT001
    ways = [(wide, high), (high, wide)] if turn else [(wide, high)]
    areas = [
        _conservative(w, *across) * _conservative(h, *along)
        for w, h in ways
        if w <= across[0] and h <= along[0]
    ]
    return min(areas, default=0)


def area_cost_bound(area: int, stocks: Sequence[tuple[SheetStock, int]]) -> Decimal:
    """Return the least cost of sheets whose area together is at least `area`.

    Args:
        area: total area of the pieces, in the unit of the stocks' areas.
        stocks: each stock and its area.
    """
    ordered = sorted(stocks, key=lambda s: (Fraction(s[0].price) / s[1], s[0].key))
    if prod(-(-area // size) + 1 for _, size in ordered[1:]) <= _MOST_MIXES:
        exact = _whole_sheets(area, ordered[::-1])
        if exact is not None:
            return exact
    cost, short = Fraction(0), Fraction(area)
    for stock, size in ordered:
        wanted = short / size
        taken = wanted if stock.limit is None else min(wanted, Fraction(stock.limit))
        cost, short = cost + taken * Fraction(stock.price), short - taken * size
    return _next_price(cost, [stock.price for stock, _ in stocks])


def _whole_sheets(area: int, stocks: Sequence[tuple[SheetStock, int]]) -> Decimal | None:
    """Return the least cost of whole sheets of at least `area`, every mix tried; None where limits forbid."""
    (stock, size), rest = stocks[0], stocks[1:]
    most = max(0, -(-area // size))
    if not rest:
        return stock.price * most if stock.limit is None or most <= stock.limit else None
    costs = []
    for number in range(min(most, most if stock.limit is None else stock.limit) + 1):
        others = _whole_sheets(max(0, area - number * size), rest)
        if others is not None:
            costs.append(number * stock.price + others)
    return min(costs, default=None)


def _next_price(cost: Fraction, prices: Sequence[Decimal]) -> Decimal:
    """Return `cost` raised to what could be paid: a multiple of the prices' common divisor."""
    places = max(0, *(-int(price.as_tuple().exponent) for price in prices))
    unit = gcd(*(int(price.scaleb(places)) for price in prices))
    if not unit:
        return Decimal(0)
    steps = ceil(cost * 10**places / unit)
    return Decimal(steps * unit).scaleb(-places)


def sheet_cost_bound(sizes: Sequence[Size], stocks: Sequence[SheetStock], kerf: Nm) -> Decimal:
    """Return a cost that no plan goes below; the pieces' sizes as wanted, kerf not yet added."""
    grown = [(w + kerf, h + kerf, turn, n) for w, h, turn, n in sizes]
    areas = [(stock, (stock.width + kerf) * (stock.height + kerf)) for stock in stocks]
    by_area = area_cost_bound(sum(w * h * n for w, h, _, n in grown), areas)
    widest = max(stock.width for stock in stocks) + kerf
    highest = max(stock.height for stock in stocks) + kerf
    count = sheet_count_bound(grown, widest, highest)
    cheapest = min(stock.price for stock in stocks)
    prices = [stock.price for stock in stocks]
    return max(by_area, _next_price(Fraction(count * cheapest), prices)).quantize(
        max(prices, key=lambda p: -int(p.as_tuple().exponent)), ROUND_CEILING
    )


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


def fits(piece: SheetPiece, stock: SheetStock) -> bool:
    """Return whether a piece fits a sheet, turned if it may be."""
    straight = piece.width <= stock.width and piece.height <= stock.height
    return straight or (piece.may_turn and piece.height <= stock.width and piece.width <= stock.height)


def _checked(pieces: Sequence[SheetPiece], stocks: Sequence[SheetStock], kerf: Nm) -> None:
    """Refuse what cannot be cut, every problem at once."""
    problems: list[Problem] = []
    if kerf < 0:
        problems.append(Problem("kerf", "negative", "Give the width of the saw cut, 0 or more."))
    if len(pieces) > MOST_PIECES:
        problems.append(Problem("pieces", f"more than {MOST_PIECES:,} pieces", "Split the list."))
    if not stocks:
        problems.append(Problem("sheet", "no sheet to cut from", "Give at least one sheet with its price."))
    problems += [
        Problem(f"sheet {stock.key}", "a size, price or limit below zero, or no size", "Check its numbers.")
        for stock in stocks
        if min(stock.width, stock.height) <= 0 or stock.price < 0 or (stock.limit or 0) < 0
    ]
    for piece in {(p.width, p.height, p.may_turn): p for p in reversed(pieces)}.values():
        size = f"{format_length(piece.width)} x {format_length(piece.height)}"
        if min(piece.width, piece.height) <= 0:
            fix = "Give a width and a height greater than 0."
            problems.append(Problem(f"piece {piece.name}", f"{size} is nothing to cut", fix))
        elif stocks and not any(fits(piece, stock) for stock in stocks):
            fix = "Add a larger sheet, or split the piece."
            problems.append(Problem(f"piece {piece.name}", f"{size} is larger than any sheet", fix))
    if problems:
        raise InputError(problems)


def _sheet(cut: Cut, stock: SheetStock, kerf: Nm, waiting: dict[int, list[SheetPiece]]) -> CutSheet:
    placed = [
        Placed(waiting[laid.kind].pop(), laid.x, laid.y, laid.width - kerf, laid.height - kerf)
        for laid in cut.pile.laid
    ]
    return CutSheet(stock, tuple(placed), offcuts(cut.pile.regions, kerf))


def _no_progress(_: float) -> None:
    return


def plan_sheets(
    pieces: Sequence[SheetPiece],
    stocks: Sequence[SheetStock],
    kerf: Nm,
    progress: Progress | None = None,
) -> SheetPlan:
    """Return every piece on a sheet, by straight cuts, at the least cost found.

    Args:
        pieces: the rectangles wanted.
        stocks: the sheets that can be bought.
        kerf: width of the saw cut, 0 or more.
        progress: told the share of the work done, from 0 to 1.

    Raises:
        InputError: a piece that fits no sheet, a size that is none, too many pieces or too few sheets.
    """
    _checked(pieces, stocks, kerf)
    if not pieces:
        return SheetPlan((), kerf, Decimal(0), Decimal(0), proven=True, method="nothing to cut")
    counts = Counter((piece.width, piece.height, piece.may_turn) for piece in pieces)
    kinds = sorted(counts, reverse=True)
    bound = sheet_cost_bound([(*kind, counts[kind]) for kind in kinds], stocks, kerf)
    grown = [(width + kerf, height + kerf, turn) for width, height, turn in kinds]
    every = [at for at, kind in enumerate(kinds) for _ in range(counts[kind])]
    cuts = search(grown, every, stocks, kerf, bound, progress or _no_progress)
    waiting: dict[int, list[SheetPiece]] = defaultdict(list)
    for piece in reversed(pieces):
        waiting[kinds.index((piece.width, piece.height, piece.may_turn))].append(piece)
    sheets = tuple(_sheet(cut, stocks[cut.stock], kerf, waiting) for cut in cuts)
    cost = sum((sheet.stock.price for sheet in sheets), Decimal(0))
    return SheetPlan(sheets, kerf, cost, bound, proven=cost <= bound, method="straight cuts, many starts")
