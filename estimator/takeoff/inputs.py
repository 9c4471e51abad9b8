"""Inputs as the office sees them: the shop's practice, waste, and the prices of what the job uses.

Price rows that the office filled in below the list: kept, and used where they name an item of the list.

A row takes the place of the item whose key or item code it writes as its item code: price, supplier and
source are then the row's. Other rows are kept and shown, but nothing is bought from them: what a thing is
made for stands in the price list's file.
"""

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from math import prod
from typing import get_args

from estimator.calc.expressions import All, Expr, Value, call
from estimator.calc.tables import SPARE, Draft, Table
from estimator.catalogue.records import Catalogue, Charged, Item, PracticeChoice, PracticeValue, described
from estimator.core.errors import Problem
from estimator.core.money import decimal
from estimator.core.units import METRE, Measures, converted, factor, plain

PRICES = "prices"


@dataclass(frozen=True, slots=True)
class AddedRow:
    """A row that the office filled in: its key, and its cells by field."""

    key: str
    cells: Mapping[str, Value]

    @property
    def called(self) -> str:
        """Return what the row is called in messages."""
        return str(self.cells.get("description") or self.cells.get("item_code") or self.key)


def added_rows(edits: Mapping[str, Value]) -> tuple[AddedRow, ...]:
    """Return the rows that the office added to the price list, in the order of their keys."""
    rows: dict[str, dict[str, Value]] = {}
    for key, value in edits.items():
        table, _, rest = key.partition(".")
        field, _, row = rest.partition(".")
        if table == PRICES and row.startswith(SPARE) and value not in {None, ""}:
            rows.setdefault(row, {})[field] = value
    ordered = sorted(rows, key=lambda row: (len(row), row))
    return tuple(AddedRow(row, rows[row]) for row in ordered)


def replaced(item: Item, rows: Iterable[AddedRow]) -> Item:
    """Return an item with price, supplier and source of the last added row that stands for it."""
    for row in rows:
        if _names(row, item) and not _unusable(row, item):
            cells = row.cells
            price, dated = cells["price"], cells.get("price_date")
            item = replace(
                item,
                price=price if isinstance(price, Decimal) else item.price,
                supplier=str(cells.get("supplier") or item.supplier),
                source=str(cells.get("source") or f"row {row.key} of the office"),
                price_date=dated if isinstance(dated, dt.date) else item.price_date,
            )
    return item


def added_problems(rows: Iterable[AddedRow], items: Iterable[Item]) -> tuple[Problem, ...]:
    """Return what becomes of each added row, as warnings."""
    known = tuple(items)
    return tuple(_told(row, known) for row in rows)


def _told(row: AddedRow, items: tuple[Item, ...]) -> Problem:
    named = [item for item in items if _names(row, item)]
    where = f"{PRICES}, {row.key}"
    if not named:
        what = f"{row.called!r} is kept, but nothing is bought from it: it names no item of the price list"
        fix = "Write the key or item code of the item it replaces, or add it to the price list's file."
        return Problem(where, what, fix, severity="warning")
    if reason := _unusable(row, named[0]):
        what = f"{row.called!r} is kept, but does not replace {named[0].key}: {reason}"
        return Problem(where, what, "Correct the row.", severity="warning")
    what = f"{row.called!r} takes the place of {named[0].key}, {row.cells['price']} for {named[0].price}"
    return Problem(where, what, "Clear its item code to go back.", severity="warning")


def _names(row: AddedRow, item: Item) -> bool:
    code = str(row.cells.get("item_code") or "").strip().casefold()
    return bool(code) and code in {item.key.casefold(), item.item_code.strip().casefold()}


def _unusable(row: AddedRow, item: Item) -> str:
    """Return why a row cannot stand for an item, '' where it can."""
    if not isinstance(row.cells.get("price"), Decimal):
        return "it has no price"
    content, unit = row.cells.get("content"), plain(str(row.cells.get("content_unit") or item.content_unit))
    if content is None:
        return ""
    try:
        same = converted(item.content, item.content_unit, unit) == content
    except ValueError:
        same = False
    return "" if same else f"it holds something else than {item.content} {item.content_unit}"


Edits = Mapping[str, Value]
WASTE = "waste_"
SPARE_PRICES = 5
UNLISTED = "none in the price list"
_PLACES = 4
_FIGURES = 3


def _own_units(value: PracticeValue, units: Measures) -> tuple[tuple[Decimal, Decimal, Decimal], str]:
    numbers = (value.value, value.low, value.high)
    if value.dimension == "length":
        own, low, high = (units.length(int(n)) for n in numbers)
        return (own, low, high), units.small
    if value.dimension == "percent":
        own, low, high = (decimal(n) for n in numbers)
        return (own, low, high), "%"
    (own, unit), (low, _), (high, _) = (units.own(decimal(n), value.unit) for n in numbers)
    return (own, low, high), unit


def _short(limit: Decimal, rounding: str) -> Decimal:
    """Return a limit with at most three figures that count, rounded towards what is allowed."""
    places = limit.adjusted() - _FIGURES + 1
    return limit.quantize(Decimal(1).scaleb(places), rounding).normalize() + 0


def practice_form(catalogue: Catalogue, units: Measures, edits: Edits) -> Table:
    """Return the form of every practice value but waste; each cell carries its key as its name."""
    form = Draft("practice", "Shop practice", "across", edits=edits)
    for value in catalogue.practice.values.values():
        if value.key.startswith(WASTE):
            continue
        (number, low, high), unit = _own_units(value, units)
        low, high = min(_short(low, ROUND_CEILING), number), max(_short(high, ROUND_FLOOR), number)
        form.input(
            value.key, value.label, unit, [number], low=low, high=high, source=value.source, places=_PLACES
        )
    for choice in catalogue.practice.choices.values():
        _choice(form, choice, catalogue)
    return form.table()


def _choice(form: Draft, choice: PracticeChoice, catalogue: Catalogue) -> None:
    """Add a choice: among its options an input; a product of the price list by its name, as decided."""
    if choice.options:
        form.input(choice.key, choice.label, "", [choice.value], choices=choice.options, source=choice.source)
    else:
        sizes = catalogue.by_product.get(choice.value, ())
        form.decided(choice.key, choice.label, "", [described(sizes) if sizes else UNLISTED])


def waste_table(catalogue: Catalogue, edits: Edits) -> Table:
    """Return the waste allowed on each group of materials, as shares."""
    values = [v for v in catalogue.practice.values.values() if v.key.startswith(WASTE)]
    table = Draft("waste", "Waste", edits=edits)
    table.names([v.key.removeprefix(WASTE) for v in values], "Group")
    table.label("label", "Allowed on", [v.label for v in values])
    shares = [decimal(v.value) for v in values]
    table.input("share", "Waste", "%", shares, low=Decimal(0), high=Decimal(1))
    table.label("source", "Source", [v.source for v in values])
    return table.table()


def content_in(item: Item, unit: str) -> Decimal:
    """Return what one buy unit of an item holds, in the unit of its line.

    Boards are counted by area and sticks by length in the takeoff: their content is pieces x size.
    """
    if not item.cut_sides:
        return converted(item.content, item.content_unit, plain(unit))
    one = prod((Decimal(side) / METRE for side in item.cut_sides), start=Decimal(1))
    return item.content * converted(one, ("m", "m^2")[len(item.cut_sides) - 1], plain(unit))


_PRICE_LABELS = (
    ("description", "Description"),
    ("section", "Section"),
    ("supplier", "Supplier"),
    ("item_code", "Item code"),
    ("buy_unit", "Bought by the"),
)


def prices_table(
    items: Iterable[Item],
    unit_of: Mapping[str, str],
    sold_in: Mapping[str, Decimal],
    currency: str,
    edits: Edits,
) -> Table:
    """Return the price list of the job: one row an item, then what the office added, then spare rows.

    Args:
        items: what the job may buy, every size of every product used.
        unit_of: unit of the line each product is counted in.
        sold_in: for items cut to length, the part of a buy unit that is the least step (1/4 of a yard).
        currency: ISO 4217.
        edits: what the office changed.
    """
    rows, added = tuple(items), added_rows(edits)
    table = Draft("prices", "Price list of this job", spare=SPARE_PRICES, edits=edits)
    table.names([*(i.key for i in rows), *(a.key for a in added)], "Code")

    def more(field: str) -> list[Value]:
        return [a.cells.get(field) for a in added]

    for key, label in _PRICE_LABELS:
        values = [*(getattr(i, key) for i in rows), *more(key)]
        table.label(key, label, values, offers=key != "description")
    contents = [*(content_in(i, unit_of[i.product]) for i in rows), *more("content")]
    table.input("content", "Holds", "", contents, low=Decimal("0.000001"), high=Decimal(1000000), places=3)
    units = [*(unit_of[i.product] for i in rows), *more("content_unit")]
    table.label("content_unit", "Of unit", units, offers=True)
    steps = [*(sold_in.get(i.key, Decimal(1)) for i in rows), *more("sold_in")]
    table.input("sold_in", "Sold in steps of", "", steps, low=Decimal("0.0001"), high=Decimal(1), places=3)
    prices = [*(i.price for i in rows), *more("price")]
    table.input("price", "Price", currency, prices, low=Decimal(0), high=Decimal(1000000))
    paid = [*(i.charged for i in rows), *more("charged")]
    table.input("charged", "Charged by", "", paid, choices=get_args(Charged))
    dates = [*(i.price_date for i in rows), *more("price_date")]
    table.label("price_date", "Price date", dates, unit="date")
    table.label("source", "Source", [*(i.source for i in rows), *more("source")])
    return table.table()


def pack_steps(prices: Table, currency: str) -> Table:
    """Return what the least that is sold of each listed item holds and costs; nothing where it is gone."""
    table = Draft("pack_steps", "The least that is sold of each item")
    key = table.names([str(k) for k in prices["key"].values], "Code")
    table.label("description", "Description", prices["description"].values)
    line = table.formula("line", "Row of the list", "", call("MATCH", key, All(prices["key"]), 0), places=0)

    def of_step(field: str) -> Expr:
        whole, step = (call("INDEX", All(prices[f]), line) for f in (field, "sold_in"))
        return call("IFERROR", whole * step, 0)

    table.formula("holds", "Holds", "", of_step("content"), places=3)
    table.formula("costs", "Costs", currency, of_step("price"), places=4)
    return table.table()


def unit_factors(units: Measures) -> Table:
    """Return the form of named unit factors."""
    form = Draft("units", "Unit factors", "across", note="Facts of arithmetic; not for change.")
    small, large, cloth, bead = (factor(u) for u in (units.small, units.large, units.cloth, units.bead))
    for key, label, ratio in (
        ("small_per_large", f"{units.small} in one {units.large}", large / small),
        ("large_per_cloth", f"{units.large} in one {units.cloth} of cloth", cloth / large),
        ("cubes_per_bead", f"{units.small}³ in one {units.bead} of sealant", bead / 10**6 / small**3),
    ):
        form.decided(key, label, "", [Decimal(ratio.numerator) / ratio.denominator], places=4)
    return form.table()
