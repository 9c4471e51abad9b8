"""Price rows that the office filled in below the list: kept, and used where they name an item of the list.

A row takes the place of the item whose key or item code it writes as its item code: price, supplier and
source are then the row's. Other rows are kept and shown, but nothing is bought from them: what a thing is
made for stands in the price list's file.
"""

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal

from estimator.calc.expressions import Value
from estimator.calc.keys import SPARE
from estimator.catalogue.records import Item
from estimator.core.errors import Problem
from estimator.core.units import converted, plain

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
