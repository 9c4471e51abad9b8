"""What may stand in a cell of a price list, and the reader that makes a value of it.

Readers raise `ValueError` with ``what; fix``. An empty cell never reaches one.
"""

import datetime as dt
import re
from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import Any

from estimator.catalogue.kinds import KINDS
from estimator.core.characters import hidden, named
from estimator.core.units import parse_length, read_amount
from estimator.job.fields import KEY_PATTERN, MONEY_PATTERN
from estimator.job.refusals import nearest

Reader = Callable[[str], Any]
_CURRENCY = re.compile(r"[A-Z]{3}")
_COST_CODE = re.compile(r"\d\d \d\d \d\d(\.\d\d)?")
_BANDS = 6
_LONGEST = 300


def text(cell: str) -> str:
    """Return a line of text."""
    if len(cell) > _LONGEST:
        raise ValueError(f"{cell[:20]!r}… is over {_LONGEST} characters; shorten it")
    if found := hidden(cell):
        raise ValueError(f"the text {named(found)}; write plain text on one line")
    return cell


def key(cell: str) -> str:
    """Return a key."""
    if not re.fullmatch(KEY_PATTERN, cell):
        raise ValueError(
            f"{cell[:40]!r} is not a key; write small letters, digits, points, hyphens, underscores"
        )
    return cell


def kind(cell: str) -> str:
    """Return a kind of item."""
    if cell not in KINDS:
        raise ValueError(f"{cell[:40]!r} is not a kind of item; {nearest(cell, KINDS)}")
    return cell


def cost_code(cell: str) -> str:
    """Return a section number of the form ``06 10 00``."""
    if not _COST_CODE.fullmatch(cell):
        raise ValueError(f"{cell[:40]!r} is not a section number; write it like 06 10 00")
    return cell


def money(cell: str) -> Decimal:
    """Return a price."""
    if cell.startswith("-"):
        raise ValueError(f"{cell[:40]!r} is negative; write what one buy unit costs")
    if not re.fullmatch(MONEY_PATTERN, cell):
        raise ValueError(f"{cell[:40]!r} is not a price; write digits and a point, such as 12.50")
    return Decimal(cell)


def currency(cell: str) -> str:
    """Return a currency code."""
    if not _CURRENCY.fullmatch(cell):
        raise ValueError(f"{cell[:40]!r} is not an ISO 4217 currency code; write three capitals, such as CAD")
    return cell


def date(cell: str) -> dt.date:
    """Return a date written as year-month-day."""
    try:
        return dt.date.fromisoformat(cell)
    except ValueError:
        raise ValueError(f"{cell[:40]!r} is not a date; write it like 2026-03-02") from None


def yes_no(cell: str) -> bool:
    """Return whether the cell says yes."""
    if cell.lower() not in {"yes", "no"}:
        raise ValueError(f"{cell[:40]!r} is neither yes nor no; write one of them")
    return cell.lower() == "yes"


def whole(cell: str) -> int:
    """Return a whole number of at most four digits."""
    if not re.fullmatch(r"[0-9]{1,4}", cell):
        raise ValueError(f"{cell[:40]!r} is not a whole number; write digits only")
    return int(cell)


def number(cell: str) -> float:
    """Return a plain number."""
    return float(read_amount(cell, "ratio").own)


def absorption(cell: str) -> tuple[float, ...]:
    """Return six absorption coefficients, 125 to 4000 Hz."""
    parts = cell.split()
    if len(parts) != _BANDS or not all(re.fullmatch(r"[01]?\.\d{1,3}|[01]", p) for p in parts):
        raise ValueError(
            f"{cell[:40]!r} is not six coefficients; write those of 125 to 4000 Hz, such as 0.10 0.30"
        )
    return tuple(float(p) for p in parts)


def measured(dimension: str) -> Reader:
    """Return the reader of an amount of a dimension, in the dimension's own unit."""
    return lambda cell: float(read_amount(cell, dimension).own)


COLUMNS: Mapping[str, tuple[str, Reader]] = {
    "key": ("key", key),
    "product": ("product", key),
    "kind": ("kind", kind),
    "description": ("description", text),
    "section": ("section", text),
    "cost code": ("cost_code", cost_code),
    "supplier": ("supplier", text),
    "item code": ("item_code", text),
    "buy unit": ("buy_unit", text),
    "content": ("content", text),
    "price": ("price", money),
    "currency": ("currency", currency),
    "price date": ("price_date", date),
    "thickness": ("thickness", parse_length),
    "width": ("width", parse_length),
    "length": ("length", parse_length),
    "gauge": ("gauge", text),
    "density": ("density_kg_m3", measured("density")),
    "specific gravity": ("specific_gravity", number),
    "airflow resistivity": ("resistivity_pa_s_m2", measured("resistivity")),
    "airflow resistance": ("cloth_pa_s_m", measured("resistance")),
    "cloth mass": ("mass_kg_m2", measured("area-mass")),
    "mass": ("mass_kg", measured("mass")),
    "absorption": ("alpha", absorption),
    "absorption source": ("alpha_source", text),
    "repeat": ("repeat", parse_length),
    "nap": ("nap", yes_no),
    "railroad": ("railroad", yes_no),
    "rated load": ("rated_load_n", measured("force")),
    "lead days": ("lead_days", whole),
    "source": ("source", text),
}
"""Heading of each column, the record's field, and the reader of its cells."""

ALWAYS = (
    "key", "product", "kind", "description", "section", "cost code", "supplier", "buy unit", "content",
    "price", "currency", "price date", "source",
)  # fmt: skip
"""Columns that every row must fill."""
