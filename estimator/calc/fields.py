"""A field: a line of like cells, with the value of each and the formula behind it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from estimator.calc.expressions import At, Expr, Operand, Value, lift

Kind = Literal["key", "label", "input", "value", "formula", "each"]


class FieldMaths:
    """Lets a field stand in an expression: it means its cell in the formula's own row."""

    __slots__ = ()

    def _here(self) -> Expr:
        return lift(self)  # type: ignore[arg-type]

    def __add__(self, other: Operand) -> Expr:
        return self._here() + other

    def __radd__(self, other: Operand) -> Expr:
        return lift(other) + self._here()

    def __sub__(self, other: Operand) -> Expr:
        return self._here() - other

    def __rsub__(self, other: Operand) -> Expr:
        return lift(other) - self._here()

    def __mul__(self, other: Operand) -> Expr:
        return self._here() * other

    def __rmul__(self, other: Operand) -> Expr:
        return lift(other) * self._here()

    def __truediv__(self, other: Operand) -> Expr:
        return self._here() / other

    def __rtruediv__(self, other: Operand) -> Expr:
        return lift(other) / self._here()

    def eq(self, other: Operand) -> Expr:
        """Return whether the cell equals `other`."""
        return self._here().eq(other)

    def gt(self, other: Operand) -> Expr:
        """Return whether the cell is greater than `other`."""
        return self._here().gt(other)

    def ge(self, other: Operand) -> Expr:
        """Return whether the cell is greater than or equal to `other`."""
        return self._here().ge(other)

    def lt(self, other: Operand) -> Expr:
        """Return whether the cell is less than `other`."""
        return self._here().lt(other)

    def le(self, other: Operand) -> Expr:
        """Return whether the cell is less than or equal to `other`."""
        return self._here().le(other)


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Field(FieldMaths):
    """A line of like cells.

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

    def __repr__(self) -> str:
        """Return its name alone: its formulas name fields that name fields in turn."""
        return f"Field({self.table}.{self.key})"

    def at(self, index: int = 0) -> Expr:
        """Return a reference to one cell, by default the first: a form's only case."""
        return At(self, index)
