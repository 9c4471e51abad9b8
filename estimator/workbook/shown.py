"""How values are shown: number formats, widths, and what an input may hold in plain words."""

import datetime as dt
from decimal import Decimal
from functools import lru_cache

from estimator.calc.expressions import Field, Value

DATE_FORMAT = "d mmm yyyy"
TEXT_FORMAT = "@"
HIDDEN_DIGITS = 4
MIXED_DIGITS = 3
"""Decimals up to which inputs of several units have as many in every row; common practice, no source."""


@lru_cache(maxsize=4096)
def sort_of(field: Field) -> str:
    """Return 'date', 'text' or 'number': what a field's cells hold."""
    if field.unit == "date" or isinstance(field.low, dt.date):
        return "date"
    if field.choices or field.picks or field.kind == "key":
        return "text"
    filled = [v for v in field.values if v is not None]
    if not filled:
        return "number" if field.unit or field.low is not None or field.kind == "formula" else "text"
    if isinstance(filled[0], dt.date):
        return "date"
    return "text" if isinstance(filled[0], str) else "number"


def _digits(field: Field) -> tuple[int, int]:
    """Return the decimals always shown and at most shown.

    A formula's are as they are set. What was decided or typed hides none: all of a column show as many as the
    longest has. Columns of several units show two, and more where there are more.
    """
    if field.kind not in {"input", "value"}:
        return (field.places if field.unit else min(field.places, 2)), field.places
    if field.kind == "value":
        least, most = min(field.places, 2), field.places
    else:
        least, most = (field.places if field.places <= 2 else 1), max(field.places, HIDDEN_DIGITS)  # noqa: PLR2004
    held = _held(field, most) if len(field.values) > 1 else 0
    alike = field.unit or (field.kind == "input" and held <= MIXED_DIGITS)
    return (max(least, held) if alike else least), most


@lru_cache(maxsize=4096)
def _held(field: Field, most: int) -> int:
    """Return how many decimals the longest of a column's numbers has, `most` at most."""
    numbers = (round(v, most).normalize() for v in field.values if isinstance(v, Decimal))
    return max((-int(n.as_tuple().exponent) for n in numbers), default=0)


def _number_format(field: Field) -> str:
    if field.unit == "%":
        digits = "0." + "0" + "#" * (field.places - 1) if field.places else "0"
        return digits + "%"
    if not field.places:
        return "#,##0"
    always, most = _digits(field)
    return "#,##0." + "0" * always + "#" * (most - always)


@lru_cache(maxsize=4096)
def number_format(field: Field, sort: str) -> str:
    """Return the spreadsheet format of a field's cells that hold a 'date', 'text' or 'number'."""
    if sort == "date":
        return DATE_FORMAT
    if sort == "text":
        return TEXT_FORMAT if field.kind in {"input", "label"} else "General"
    return _number_format(field)


def shown(value: Value, field: Field) -> str:
    """Return a value as its cell shows it, to fit columns and write messages."""
    if value is None:
        return ""
    if isinstance(value, dt.date):
        return f"{value.day} {value:%b %Y}"
    if isinstance(value, str):
        return value
    if field.unit == "%":
        return f"{value * 100:.{max(field.places, 1)}f}%"
    if not field.places:
        return f"{value:,.0f}"
    always, most = _digits(field)
    own = -int(value.normalize().as_tuple().exponent)
    return f"{value:,.{max(always, min(most, own))}f}"


def _plain(value: Value, field: Field) -> str:
    if isinstance(value, Decimal):
        scaled = value * 100 if field.unit == "%" else value
        return f"{scaled:,.{HIDDEN_DIGITS}f}".rstrip("0").rstrip(".")
    return shown(value, field)


def allowed(field: Field) -> str:
    """Return what an input may hold, such as ``0 to 50 %``, for a person to read."""
    unit = "" if field.unit in {"", "date"} else f" {field.unit}"
    if field.choices:
        return " or ".join(", ".join(field.choices).rsplit(", ", 1))
    if field.picks:
        return f"a key of {field.picks.table}"
    return _limits(field, unit)


def _limits(field: Field, unit: str) -> str:
    sort = sort_of(field)
    low, high = (None if v is None else _plain(v, field) for v in (field.low, field.high))
    if low is not None and high is not None:
        return f"always {low}{unit}" if low == high else f"{low} to {high}{unit}"
    if low is not None:
        return f"{low}{unit} or more" if sort == "number" else f"{low} or later"
    if high is not None:
        return f"{high}{unit} or less" if sort == "number" else f"{high} or earlier"
    return {"text": "text", "date": "a date", "number": f"a number{unit and ' of'}{unit}"}[sort]
