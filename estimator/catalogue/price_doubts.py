"""What looks wrong in a price list that can be read: old dates, packs out of line, sizes by name.

Prices of one supplier and date grow old together: they are told in one line.

Titles of the sections that cost codes name.

Source: CSI MasterFormat; each row says how far its title was checked.
"""

import csv
import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from math import prod
from pathlib import Path
from statistics import median
from types import MappingProxyType

from estimator.catalogue.records import KINDS, Item
from estimator.catalogue.references import dressed_sizes, nominal_size
from estimator.core.errors import Problem
from estimator.core.units import METRE, factor, format_length

FAR_APART = 3
"""Times the middle price a unit of a product may cost before it is doubted: a slipped digit is ten times."""


@dataclass(frozen=True, slots=True)
class Dated:
    """Prices of one supplier and date that are not to be relied on; `age_days` is below 0 for days ahead."""

    supplier: str
    date: dt.date
    age_days: int
    keys: tuple[str, ...]
    line: int

    def problem(self, file: str) -> Problem:
        """Return the warning, at the first row of them."""
        many, them = len(self.keys), "it" if len(self.keys) == 1 else "them"
        prices = "1 price" if many == 1 else f"{many} prices"
        if self.age_days < 0:
            what, fix = f"{prices} dated {self.date}, {-self.age_days} days ahead", "Check the date."
        else:
            what, fix = f"{prices} of {self.date}, {self.age_days} days old", f"Ask for {them} again."
        return Problem(self.supplier, what, fix, file=file, line=self.line, severity="warning")


def dated(items: Sequence[Item], day: dt.date, oldest_days: float) -> tuple[Dated, ...]:
    """Return prices older than `oldest_days` on a day, or dated after it, by supplier and date."""
    groups: dict[tuple[str, dt.date], list[Item]] = {}
    for item in items:
        if not 0 <= (day - item.price_date).days <= oldest_days:
            groups.setdefault((item.supplier, item.price_date), []).append(item)
    return tuple(
        Dated(supplier, date, (day - date).days, tuple(item.key for item in group), group[0].line)
        for (supplier, date), group in groups.items()
    )


def doubts(items: Sequence[Item], file: str) -> list[Problem]:
    """Return warnings of single rows, by line.

    Args:
        items: the price list.
        file: the list's name in messages.
    """
    found = [*_codes(items), *_packs(items), *_dressed(items)]
    return [
        Problem(f"{item.key}.{column}", what, fix, file=file, line=item.line, severity="warning")
        for item, column, what, fix in sorted(found, key=lambda one: (one[0].line, one[1]))
    ]


Doubt = tuple[Item, str, str, str]


def _codes(items: Sequence[Item]) -> Iterator[Doubt]:
    for item in items:
        if item.cost_code not in cost_code_titles():
            what = f"the section {item.cost_code} is not known here"
            yield item, "cost code", what, "Check the number; the line is priced all the same."


def unit_price(item: Item) -> Decimal:
    """Return the price of one own unit of what an item holds, size of boards and sticks included."""
    own = factor(item.content_unit)
    content = item.content * own.numerator / own.denominator
    return item.price / content / prod(Decimal(side) / METRE for side in item.cut_sides)


def _packs(items: Sequence[Item]) -> Iterator[Doubt]:
    """Yield sizes far from their product's middle price; of two so far apart both, as either may be wrong."""
    for product in dict.fromkeys(item.product for item in items):
        sizes = [item for item in items if item.product == product]
        prices = [unit_price(item) for item in sizes]
        for item, own in zip(sizes, prices, strict=True):
            pair = len(sizes) == 2  # noqa: PLR2004 - the two sizes of a pair
            times = own / (sum(prices) - own if pair else median(prices))
            if times > FAR_APART or times * FAR_APART < 1:
                beside = f"the other size of {product!r}" if pair else f"the middle size of {product!r}"
                what = f"for what it holds it costs {times:.{0 if times > FAR_APART else 3}f} times {beside}"
                yield item, "content", what, "Check content and price."


def _dressed(items: Sequence[Item]) -> Iterator[Doubt]:
    """Yield members whose size is the one they are called by, not the one they are planed to."""
    for item in items:
        planed = dressed_sizes().get(nominal_size(item.description)) if KINDS[item.kind].wood else None
        if planed and item.thickness and item.width and {item.thickness, item.width} != set(planed):
            sizes = " x ".join(format_length(size) for size in planed)
            yield item, "width", f"a planed {nominal_size(item.description)} is {sizes}", "Measure one."


DATA = Path(__file__).parent / "data" / "cost_codes.csv"


@cache
def cost_code_titles() -> Mapping[str, str]:
    """Return the title of every section known here, by its number such as ``09 84 33``."""
    with DATA.open(encoding="utf-8", newline="") as stream:
        return MappingProxyType({row["code"]: row["title"] for row in csv.DictReader(stream)})
