"""The least that rectangles can cost on sheets: what says how far from perfect a plan can be at most."""

from collections.abc import Iterable, Sequence
from decimal import ROUND_CEILING, Decimal
from fractions import Fraction
from math import ceil, gcd, prod

from estimator.core.units import Nm
from estimator.cutting.plans import SheetStock

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
