"""A supplier's price list read into the shop's own, by a mapping file that says what its columns mean."""

import csv
import datetime as dt
import io
import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from pydantic import Field

from estimator.core.errors import InputError, Problem, refuse_all
from estimator.intake.structured import records
from estimator.job.document import nearest
from estimator.job.fields import Currency, Line, Record

_PRICE = re.compile(r"\d{1,9}(\.\d{1,4})?")


class SupplierColumns(Record):
    """The supplier's headings of what is read."""

    item_code: Line
    price: Line
    unit: Line | None = None


class Mapped(Record):
    """A mapping file, whole."""

    schema_: Literal[1] = Field(alias="schema")
    supplier: Line
    """As the shop's own list writes it."""
    currency: Currency
    date: dt.date
    """From which the prices hold."""
    delimiter: Literal[",", ";", "tab"] = ","
    decimal: Literal[".", ","] = "."
    columns: SupplierColumns
    units: Mapping[str, Line] = Field(default_factory=dict)
    """For each unit the supplier writes, the shop's buy unit: ``{ EA = "stick" }``."""


@dataclass(frozen=True, slots=True)
class PriceChange:
    """A price before and after."""

    key: str
    before: Decimal
    after: Decimal


@dataclass(frozen=True, slots=True)
class Imported:
    """The shop's list with the supplier's prices in it.

    Attributes:
        text: the new list, as CSV.
        changes: rows whose price is another.
        kept: rows that the supplier priced as before.
        problems: warnings, such as rows the supplier no longer lists.
    """

    text: str
    changes: tuple[PriceChange, ...]
    kept: int
    problems: tuple[Problem, ...]


def import_prices(own: str, theirs: str, mapped: Mapped, file: str) -> Imported:
    """Return the shop's list with the prices of one supplier brought up to date by item code.

    Args:
        own: text of the shop's price list, already known to be readable.
        theirs: text of the supplier's list.
        mapped: what its columns mean.
        file: the supplier's list's name in messages.

    Raises:
        InputError: a heading, price, unit or currency that does not fit; every line that cannot be used.
    """
    prices = _prices(theirs, mapped, file)
    delimiter = max(",;\t", key=own.split("\n", 1)[0].count)
    reader = csv.DictReader(io.StringIO(own, newline=""), delimiter=delimiter)
    rows = list(reader)
    mine = [row for row in rows if row["supplier"] == mapped.supplier and row["item code"]]
    if not mine:
        known = sorted({row["supplier"] for row in rows})
        raise InputError([Problem("supplier", f"the own list buys nothing of {mapped.supplier!r}",
                                  nearest(mapped.supplier, known))])  # fmt: skip
    refuse_all([p for row in mine if row["item code"] in prices for p in _unfit(row, prices, mapped, file)])
    changes, kept, gone = _apply(mine, prices, mapped, file)
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, reader.fieldnames or [], delimiter=delimiter, lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return Imported(out.getvalue(), changes, kept, gone)


@dataclass(frozen=True, slots=True)
class _Price:
    amount: Decimal
    unit: str
    line: int


def _prices(theirs: str, mapped: Mapped, file: str) -> dict[str, _Price]:
    delimiter = "\t" if mapped.delimiter == "tab" else mapped.delimiter
    wanted = [c for c in (mapped.columns.item_code, mapped.columns.price, mapped.columns.unit) if c]
    found: dict[str, _Price] = {}
    problems: list[Problem] = []
    for line, row in records(theirs, file, wanted, delimiter):
        code = row[mapped.columns.item_code]
        if not code:
            continue
        amount = _amount(row[mapped.columns.price], mapped.decimal)
        if amount is None:
            what = f"{row[mapped.columns.price][:40]!r} is no price over 0"
            problems.append(
                Problem(code[:48], what, "Correct it, or take the row out.", file=file, line=line)
            )
        elif code in found:
            what = f"it stands already in line {found[code].line}"
            problems.append(Problem(code[:48], what, "Keep one row.", file=file, line=line))
        else:
            unit = row[mapped.columns.unit] if mapped.columns.unit else ""
            found[code] = _Price(amount, unit, line)
    refuse_all(problems)
    return found


def _amount(text: str, decimal: str) -> Decimal | None:
    """Return a price as a supplier writes it: with a currency sign or code, spaces, thousands marked."""
    thousands = "," if decimal == "." else "."
    plain = re.sub(r"[\s\u00a0$€£]|[A-Z]{3}", "", text).replace(thousands, "").replace(decimal, ".")
    if not _PRICE.fullmatch(plain) or not Decimal(plain):
        return None
    return Decimal(plain)


def _unfit(row: Mapping[str, str], prices: Mapping[str, _Price], mapped: Mapped, file: str) -> list[Problem]:
    price = prices[row["item code"]]
    found = []
    if row["currency"] != mapped.currency:
        what = f"the supplier prices in {mapped.currency}, the own list in {row['currency']}"
        found.append((what, "Nothing is converted; ask for prices in the list's currency."))
    if price.unit and price.unit not in mapped.units:
        found.append((f"the unit {price.unit[:20]!r} is not in the mapping", "Add it under [units]."))
    elif price.unit and mapped.units[price.unit] != row["buy unit"]:
        what = f"the supplier prices by the {mapped.units[price.unit]}, the own list by the {row['buy unit']}"
        found.append((what, "Change the own row's buy unit and content first."))
    return [Problem(row["key"], what, fix, file=file, line=price.line) for what, fix in found]


def _apply(
    mine: list[dict[str, str]], prices: Mapping[str, _Price], mapped: Mapped, file: str
) -> tuple[tuple[PriceChange, ...], int, tuple[Problem, ...]]:
    """Write prices and dates into the rows; return what changed, how many did not, and what is gone."""
    changes, kept, gone = [], 0, []
    for row in mine:
        price = prices.get(row["item code"])
        if price is None:
            what = f"the supplier does not list {row['item code']!r}"
            gone.append(Problem(row["key"], what, "Ask, or find another.", file=file, severity="warning"))
            continue
        before = Decimal(row["price"])
        if before == price.amount:
            kept += 1
        else:
            changes.append(PriceChange(row["key"], before, price.amount))
        row["price"], row["price date"] = f"{price.amount:f}", mapped.date.isoformat()
    return tuple(changes), kept, tuple(gone)
