"""The kinds of value that a job file, a shop practice or a terms file is written with.

Each is a Python type with the reader that makes it from what TOML gives, and the JSON Schema that tells
an editor the same. Readers raise `ValueError` in plain words; the loader adds file, line and key.
"""

import re
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from typing import Annotated, Literal, Self, TypeVar

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, WithJsonSchema, model_validator

from estimator.core.characters import hidden, named
from estimator.core.units import Nm, parse_length

NAME_PATTERN = r"^[A-Za-z0-9][A-Za-z0-9 ._-]{0,31}$"
KEY_PATTERN = r"^[a-z0-9][a-z0-9._-]{0,47}$"
NUMBER_PATTERN = r"^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$"
LENGTH_PATTERN = r"^ *[0-9.][0-9 ./-]*(mm|cm|m|in|inch|inches|ft|foot|feet|yd|['\"′″’”]).*$"
COORDINATE_PATTERN = LENGTH_PATTERN.replace("^ *", "^ *-? *")
PERCENT_PATTERN = r"^ *[0-9]+([.][0-9]+)? *% *$"
MONEY_PATTERN = r"^[0-9]{1,9}([.][0-9]{1,4})?$"


@dataclass(frozen=True, slots=True)
class Product:
    """Marks a key that names a product of the price list, by the kind that it must be of."""

    kind: str


class Record(BaseModel):
    """A table of a file: frozen, no keys beyond its own, no silent conversion of types."""

    model_config = ConfigDict(
        frozen=True, extra="forbid", strict=True,
        allow_inf_nan=False, defer_build=True,
    )  # fmt: skip


def parse_coordinate(text: object) -> Nm:
    """Return a length that may be negative, as whole nanometres.

    Raises:
        ValueError: as `parse_length`.
    """
    if isinstance(text, str) and text.strip().startswith("-"):
        return -parse_length(text.strip()[1:])
    return parse_length(text)


def parse_positive(text: object) -> Nm:
    """Return a length greater than nothing, as whole nanometres.

    Raises:
        ValueError: as `parse_length`, or a length of nothing.
    """
    length = parse_length(text)
    if length <= 0:
        raise ValueError(f"{text!r} is nothing; it must be more than 0")
    return length


def parse_money(text: object) -> Decimal:
    """Return an amount of money written as text, such as ``"150.00"``.

    Raises:
        ValueError: a bare number (a binary fraction is no amount of money), a sign, or other text.
    """
    if not isinstance(text, str):
        raise ValueError(f'{text!r} must stand in quotes, such as "150.00"')  # noqa: TRY004 - pydantic reads ValueError
    if not re.match(MONEY_PATTERN, text.strip()):
        raise ValueError(f'{text!r} is not an amount; write digits and a point, such as "1250.00"')
    return Decimal(text.strip())


def parse_signed(text: object) -> Decimal:
    """Return an amount of money that may be negative; errors as `parse_money`."""
    if isinstance(text, str) and text.strip().startswith("-"):
        return -parse_money(text.strip().removeprefix("-"))
    return parse_money(text)


def parse_number(value: object) -> Decimal:
    """Return a TOML number as the decimal it was written as.

    Raises:
        ValueError: it is no number, or a negative one.
    """
    if isinstance(value, bool) or not isinstance(value, int | float | Decimal):
        raise ValueError(f"{value!r} is no number; write digits without quotes")  # noqa: TRY004 - pydantic reads it
    number = Decimal(str(value))
    if not number.is_finite() or number < 0:
        raise ValueError(f"{value!r} is out of range; write 0 or more")
    return number


def parse_percent(text: object) -> Decimal:
    """Return a percentage written as text, ``"12.5 %"``, as a fraction: ``Decimal("0.125")``.

    Raises:
        ValueError: a bare number (12 or 0.12?), a sign, or other text.
    """
    example = 'write it like "12.5 %"'
    if not isinstance(text, str):
        raise ValueError(f"{text!r} is a bare number, no percentage; {example}")  # noqa: TRY004
    if text.strip().startswith("-"):
        raise ValueError(f"{text!r} is negative; {example}")
    if not re.match(PERCENT_PATTERN, text):
        raise ValueError(f"{text!r} is not a percentage; {example}")
    try:
        return Decimal(text.replace("%", "").strip()) / 100
    except InvalidOperation:
        raise ValueError(f"{text!r} is not a percentage; {example}") from None


def _line(text: object) -> object:
    if isinstance(text, str) and (found := hidden(text)):
        raise ValueError(f"the text {named(found)}; write it on one line")
    return text


def _prose(text: object) -> object:
    if isinstance(text, str) and (found := hidden(text, but="\n")):
        raise ValueError(f"the text {named(found)}; use plain text")
    return text


def _length_schema(pattern: str, about: str) -> WithJsonSchema:
    examples = ["60 in", "5 ft 2 1/2 in", "1473 mm", "1.473 m"]
    return WithJsonSchema(
        {"type": "string", "pattern": pattern, "examples": examples, "title": about, "maxLength": 60}
    )


def _text_schema(pattern: str, about: str, example: str) -> WithJsonSchema:
    return WithJsonSchema({"type": "string", "pattern": pattern, "examples": [example], "title": about})


Length = Annotated[Nm, BeforeValidator(parse_length), _length_schema(LENGTH_PATTERN, "length")]
PositiveLength = Annotated[
    Nm, BeforeValidator(parse_positive), _length_schema(LENGTH_PATTERN, "length over 0")
]
Coordinate = Annotated[
    Nm, BeforeValidator(parse_coordinate), _length_schema(COORDINATE_PATTERN, "position, may be negative")
]
Money = Annotated[Decimal, BeforeValidator(parse_money), _text_schema(MONEY_PATTERN, "money", "150.00")]
Percent = Annotated[
    Decimal, BeforeValidator(parse_percent), _text_schema(PERCENT_PATTERN, "percentage", "12.5 %")
]
Name = Annotated[str, Field(pattern=NAME_PATTERN, title="name")]
Key = Annotated[str, Field(pattern=KEY_PATTERN, title="key")]
Line = Annotated[str, BeforeValidator(_line), Field(min_length=1, max_length=200, title="line of text")]
Prose = Annotated[str, BeforeValidator(_prose), Field(min_length=1, max_length=2000, title="text")]
Currency = Annotated[str, Field(pattern=r"^[A-Z]{3}$", title="ISO 4217 currency code")]
FileName = Annotated[
    str, BeforeValidator(_line), Field(min_length=1, max_length=400, title="shipped name or path")
]

T = TypeVar("T")
Many = Annotated[tuple[T, ...], Field(strict=False, max_length=200)]
"""An array of tables or values, at most 200 long."""

Number = Annotated[
    Decimal,
    BeforeValidator(parse_number),
    Field(le=100_000),
    WithJsonSchema({"type": "number", "minimum": 0}),
]
SIGNED_MONEY = r"^-?[0-9]{1,9}([.][0-9]{1,4})?$"
SignedMoney = Annotated[
    Decimal, BeforeValidator(parse_signed), _text_schema(SIGNED_MONEY, "money, or a credit", "-150.00")
]
Charged = Literal["marked up", "at cost"]
"""How a sum stands in the price: with overhead, profit and discount on it, or as it is."""


class Other(Record):
    """A line of the price beside what is built: hire, travel, a permit, a subcontractor, a credit."""

    text: Line
    """As printed on the quote."""
    quantity: Annotated[Number, Field(gt=0)] = Decimal(1)
    """How much of it there is, in its unit."""
    unit: Line = ""
    """Of the quantity, such as "km" or "day"; left out, the line is a sum."""
    rate: SignedMoney
    """For one unit, in the job's currency, tax left out; a credit is negative."""
    charged: Charged = "marked up"
    """Whether overhead, profit and discount are on it, or it stands in the price as it is."""
    taxed: bool = True
    """Taxes on the price are on it; only a line at cost may be without."""

    @model_validator(mode="after")
    def _untaxed(self) -> Self:
        if not self.taxed and self.charged != "at cost":
            raise ValueError('a line that is marked up is taxed with the price; write charged = "at cost"')
        return self
