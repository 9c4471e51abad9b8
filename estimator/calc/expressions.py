"""Expressions over fields: evaluated in `Decimal`, rendered as formulas elsewhere.

Only functions that every spreadsheet engine tried computes alike are offered. An expression may hold no
number but 0, 1, 2 and rounding digits; every other number is an input cell or a named unit factor.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import reduce
from operator import mul
from typing import Literal, TypeAlias

Value: TypeAlias = Decimal | str | dt.date | None
Operand: TypeAlias = "Expr | int | str"
Kind: TypeAlias = Literal["key", "label", "input", "value", "formula", "each"]
PLAIN_NUMBERS = range(3)


class Expr:
    """A formula in the making; operators build larger ones."""

    __slots__ = ()

    def __add__(self, other: Operand) -> Expr:
        return Op("+", self, lift(other))

    def __radd__(self, other: Operand) -> Expr:
        return Op("+", lift(other), self)

    def __sub__(self, other: Operand) -> Expr:
        return Op("-", self, lift(other))

    def __rsub__(self, other: Operand) -> Expr:
        return Op("-", lift(other), self)

    def __mul__(self, other: Operand) -> Expr:
        return Op("*", self, lift(other))

    def __rmul__(self, other: Operand) -> Expr:
        return Op("*", lift(other), self)

    def __truediv__(self, other: Operand) -> Expr:
        return Op("/", self, lift(other))

    def __rtruediv__(self, other: Operand) -> Expr:
        return Op("/", lift(other), self)

    def eq(self, other: Operand) -> Expr:
        """Return whether both are equal, as 1 or 0 inside IF."""
        return Op("=", self, lift(other))

    def gt(self, other: Operand) -> Expr:
        """Return whether this is greater."""
        return Op(">", self, lift(other))

    def ge(self, other: Operand) -> Expr:
        """Return whether this is greater or equal."""
        return Op(">=", self, lift(other))

    def lt(self, other: Operand) -> Expr:
        """Return whether this is less."""
        return Op("<", self, lift(other))

    def le(self, other: Operand) -> Expr:
        """Return whether this is less or equal."""
        return Op("<=", self, lift(other))


@dataclass(frozen=True, slots=True, eq=False)
class Const(Expr):
    """0, 1, 2, a rounding digit, or a text to compare with."""

    value: int | str


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Field(Expr):
    """A line of like cells; in an expression it means its cell in the formula's own row (or case).

    Attributes:
        table: key of the table it stands in.
        key: unique in its table; in a form it is also the cell's defined name in the workbook.
        kind: 'key' and 'label' text, 'input' for the office to change, 'value' decided by the engine,
            'formula' one formula for all cells, 'each' a formula of its own a cell (control sheets only).
        unit: of every cell, '' for text and plain numbers; '%' for shares held as fractions.
        values: one a row (or case).
        exprs: for 'formula' one expression, for 'each' one a cell, otherwise none.
        low, high, choices: what an input may hold.
        source: where an input's value came from.
        places: decimals shown.
        picks: the field of keys that an input must be one of.
        whole: an input that takes whole numbers only.
        strong: shown in bold with a line above: a total.
        offers: whether spare cells offer what stands in the column; anything else may be typed too.
        width: characters a column should be wide, 0 to fit what stands in it.
        link: keys of other tables, for formulas to look up; words beside them say what they mean.
        shown: keys that people see as the first column, so that they travel when rows are sorted.
        optional: an input that may be empty; an empty one counts as `blank`.
    """

    table: str
    key: str
    label: str
    kind: Kind
    unit: str
    values: tuple[Value, ...]
    exprs: tuple[Expr, ...] = ()
    low: Value = None
    high: Value = None
    choices: tuple[str, ...] = ()
    source: str = ""
    places: int = 2
    picks: Field | None = None
    whole: bool = False
    strong: bool = False
    width: int = 0
    offers: bool = False
    link: bool = False
    shown: bool = False
    optional: bool = False
    blank: Value = None

    def __repr__(self) -> str:
        """Return its name alone: its formulas name fields that name fields in turn."""
        return f"Field({self.table}.{self.key})"

    def at(self, index: int = 0) -> Expr:
        """Return a reference to one cell, by default the first: a form's only case."""
        return At(self, index)


@dataclass(frozen=True, slots=True, eq=False)
class At(Expr):
    """One cell of `field`, wherever the formula stands: a named input, a total."""

    field: Field
    index: int = 0


@dataclass(frozen=True, slots=True, eq=False)
class All(Expr):
    """Every cell of `field`, as a range."""

    field: Field


@dataclass(frozen=True, slots=True, eq=False)
class Block(Expr):
    """The rectangle of neighbouring `fields` of one table, as a range for INDEX."""

    fields: tuple[Field, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Heads(Expr):
    """The key cells above neighbouring `fields` of one table, as a range for MATCH."""

    fields: tuple[Field, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Stack(Expr):
    """The cells of neighbouring `fields` of a form of one case, one under the other, as a range for INDEX."""

    fields: tuple[Field, ...]


@dataclass(frozen=True, slots=True, eq=False)
class StackKeys(Expr):
    """The key cells beside neighbouring `fields` of a form, as a range for MATCH."""

    fields: tuple[Field, ...]


@dataclass(frozen=True, slots=True, eq=False)
class KeyAt(Expr):
    """The key in the row that a form field's defined name points to; its own key while names hold.

    Or what stands `right` of it by so many columns: 1 for the words that people read.
    """

    field: Field
    right: int = 0


@dataclass(frozen=True, slots=True, eq=False)
class Op(Expr):
    """Two expressions and the sign between them."""

    sign: str
    left: Expr
    right: Expr


@dataclass(frozen=True, slots=True, eq=False)
class Call(Expr):
    """A spreadsheet function and its arguments."""

    name: str
    args: tuple[Expr, ...]


def lift(value: Operand) -> Expr:
    """Return an operand as an expression.

    Raises:
        ValueError: a number other than 0, 1 or 2; it belongs in an input cell.
    """
    if isinstance(value, Expr):
        return value
    if not isinstance(value, str) and value not in PLAIN_NUMBERS:
        raise ValueError(f"{value} belongs in an input cell or a named unit factor, not in a formula")
    return Const(value)


def call(name: str, *args: Operand) -> Expr:
    """Return a call of a spreadsheet function; see `estimator.calc.evaluation` for those offered."""
    return Call(name, tuple(lift(a) for a in args))


def round_to(value: Operand, places: int) -> Expr:
    """Return ``ROUND(value, places)``, halves away from zero."""
    return Call("ROUND", (lift(value), Const(places)))


def settled(value: Operand, places: int) -> Expr:
    """Return ``ROUND(ROUND(value, 6), places)``: rounded, proof against the last bit.

    270.125 worked out as 270.12499999999997 is 270.13 in some programs and 270.12 in others.
    """
    return round_to(round_to(value, 6), places)


def cents(value: Operand) -> Expr:
    """Return a sum of money to the cent, proof against the last bit."""
    return settled(value, 2)


def whole_up(value: Operand) -> Expr:
    """Return the next whole number, proof against the last bit: ``ROUNDUP(ROUND(value, 6), 0)``."""
    return call("ROUNDUP", round_to(value, 6), 0)


def whole_down(value: Operand) -> Expr:
    """Return the whole number before a value of at least 0: ``ROUNDDOWN(ROUND(value, 6), 0)``."""
    return call("ROUNDDOWN", round_to(value, 6), 0)


def if_(condition: Expr, then: Operand, otherwise: Operand) -> Expr:
    """Return ``IF(condition, then, otherwise)``; never nest one in another."""
    return call("IF", condition, then, otherwise)


def total(field: Field) -> Expr:
    """Return ``SUM`` of the whole field."""
    return call("SUM", All(field))


def product_total(*fields: Field) -> Expr:
    """Return ``SUMPRODUCT`` of whole fields of one table."""
    return call("SUMPRODUCT", *(All(f) for f in fields))


def total_where(field: Field, *conditions: Operand) -> Expr:
    """Return the sum of `field` where each of the conditions holds; they alternate field and value.

    Written ``SUMPRODUCT((field1=value1)*…, field)``, which tells '06' from '6'.
    """
    args: list[Operand] = [All(field)]
    for position, condition in enumerate(conditions):
        args.append(All(condition) if position % 2 == 0 else condition)  # type: ignore[arg-type]
    return call("SUMIFS", *args)


def count_of(field: Field, value: Operand) -> Expr:
    """Return ``COUNTIF(field, value)``: how many of its cells equal `value`."""
    return call("COUNTIF", All(field), value)


def find(field: Field, keys: Field, key: Operand) -> Expr:
    """Return the cell of `field` in the row where `keys` holds `key`: ``INDEX(…, MATCH(key, keys, 0))``."""
    return call("INDEX", All(field), call("MATCH", key, All(keys), 0))


def filled_cells(cells: Expr) -> Expr:
    """Return ``COUNTA(cells)``: how many cells of a range hold anything, errors too."""
    return call("COUNTA", cells)


def whole(cells: Sequence[Expr]) -> Expr:
    """Return 1 while every cell is a formula still, otherwise 0; asked one by one, as of a range some err."""
    first, *rest = (call("ISFORMULA", cell) for cell in cells)
    return reduce(mul, rest, 1 * first)


def find_in(fields: tuple[Field, ...], keys: Field, key: Operand, head: Operand) -> Expr:
    """Return the cell in row `key` and column `head` of neighbouring `fields`."""
    row = call("MATCH", key, All(keys), 0)
    column = call("MATCH", head, Heads(fields), 0)
    return call("INDEX", Block(fields), row, column)


def find_line(fields: tuple[Field, ...], key: Operand) -> Expr:
    """Return the cell of the form's line `key` among neighbouring `fields`."""
    return call("INDEX", Stack(fields), call("MATCH", key, StackKeys(fields), 0))
