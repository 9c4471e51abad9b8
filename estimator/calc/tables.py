"""Fields, tables, sheets and the book: what the workbook shows, with every value beside its formula.

A table is drafted field by field, each computed as soon as it is added, so no figure can be asked for
before it exists; the finished records are frozen.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from dataclasses import field as data_field
from typing import Literal

from estimator.calc.evaluation import evaluate
from estimator.calc.expressions import At, Expr, Here, Operand, Value, lift

Kind = Literal["key", "label", "input", "value", "formula", "each"]
Role = Literal["inputs", "workings", "outputs", "control"]


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
        width: characters a column should be wide, 0 to fit what stands in it.
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

    def __repr__(self) -> str:
        """Return its name alone: its formulas name fields that name fields in turn."""
        return f"Field({self.table}.{self.key})"

    def at(self, index: int = 0) -> Expr:
        """Return a reference to one cell, by default the first: a form's only case."""
        return At(self, index)


@dataclass(frozen=True, slots=True)
class Table:
    """A block of a sheet: fields as columns ('down', one row a key) or as rows ('across', one column a case).

    Attributes:
        note: a sentence or two under the table.
        spare: empty keyed input rows kept below, for the office to fill.
    """

    key: str
    title: str
    orientation: Literal["down", "across"]
    fields: tuple[Field, ...]
    note: str = ""
    spare: int = 0

    def __getitem__(self, key: str) -> Field:
        """Return the field of that key.

        Raises:
            KeyError: the table has no such field.
        """
        for one in self.fields:
            if one.key == key:
                return one
        raise KeyError(f"{self.key}.{key}")

    @property
    def count(self) -> int:
        """Return the number of rows (or cases)."""
        return len(self.fields[0].values) if self.fields else 0

    def value(self, key: str, index: int = 0) -> Value:
        """Return one value."""
        return self[key].values[index]


def input_key(table: str, field: str, row: str = "") -> str:
    """Return the key of an input cell: ``table.field.row``, or ``table.field`` in a form of one case."""
    return ".".join(part for part in (table, field, row) if part)


def case_keys(orientation: Literal["down", "across"], fields: Sequence[Field], count: int) -> list[str]:
    """Return the keys of a table's rows (or cases): its own, or '' for an only case, or 0, 1, 2."""
    if fields and fields[0].kind == "key":
        return [str(value) for value in fields[0].values]
    return [""] if orientation == "across" and count == 1 else [str(i) for i in range(count)]


@dataclass
class Draft:
    """A table being written, field by field; `table()` ends it.

    Args of every adder: `key`, `label`, `unit`; values or an expression. `edits` holds what the office
    changed, by `input_key`; an input takes its value from there where it is listed.
    """

    key: str
    title: str
    orientation: Literal["down", "across"] = "down"
    note: str = ""
    spare: int = 0
    edits: Mapping[str, Value] = data_field(default_factory=dict)
    fields: list[Field] = data_field(default_factory=list)

    def _add(self, new: Field) -> Field:
        if any(f.key == new.key for f in self.fields):
            raise ValueError(f"{self.key}.{new.key} stands twice")
        if self.fields and len(new.values) != len(self.fields[0].values):
            raise ValueError(
                f"{self.key}.{new.key} has {len(new.values)} cells, not {len(self.fields[0].values)}"
            )
        self.fields.append(new)
        return new

    def keys(self, values: Sequence[str], label: str = "Key") -> Field:
        """Add the key column that travels with its row; returns the field."""
        return self._add(Field(self.key, "key", label, "key", "", tuple(values)))

    def names(self, values: Sequence[str], label: str) -> Field:
        """Add keys that are also shown, as a column of names; returns the field of keys."""
        keys = self.keys(values, label)
        self.label("name", label, tuple(values))
        return keys

    def label(
        self, key: str, label: str, values: Sequence[Value], unit: str = "", *, width: int = 0
    ) -> Field:
        """Add text."""
        return self._add(Field(self.key, key, label, "label", unit, tuple(values), width=width))

    def input(
        self,
        key: str,
        label: str,
        unit: str,
        values: Sequence[Value],
        *,
        low: Value = None,
        high: Value = None,
        choices: Sequence[str] = (),
        source: str = "",
        places: int = 2,
        picks: Field | None = None,
        whole: bool = False,
        width: int = 0,
    ) -> Field:
        """Add cells for the office to change, within `low` to `high`, among `choices` or keys of `picks`."""
        rows = case_keys(self.orientation, self.fields, len(values))
        own = (self.edits.get(input_key(self.key, key, r), v) for r, v in zip(rows, values, strict=True))
        field = Field(self.key, key, label, "input", unit, tuple(own), (), low, high, tuple(choices))
        return self._add(replace(field, source=source, places=places, picks=picks, whole=whole, width=width))

    def decided(self, key: str, label: str, unit: str, values: Sequence[Value], places: int = 2) -> Field:
        """Add values that the engine decided (a cutting plan, a layout)."""
        return self._add(Field(self.key, key, label, "value", unit, tuple(values), places=places))

    def formula(
        self,
        key: str,
        label: str,
        unit: str,
        expr: Expr,
        *,
        places: int = 2,
        source: str = "",
        strong: bool = False,
    ) -> Field:
        """Add one formula for every row; it is evaluated at once."""
        count = len(self.fields[0].values) if self.fields else 1
        values = tuple(evaluate(expr, i) for i in range(count))
        field = Field(self.key, key, label, "formula", unit, values, (expr,))
        return self._add(replace(field, source=source, places=places, strong=strong))

    def each(self, key: str, label: str, unit: str, exprs: Sequence[Expr], places: int = 2) -> Field:
        """Add a formula of its own for every row: control sheets only."""
        values = tuple(evaluate(expr, i) for i, expr in enumerate(exprs))
        return self._add(Field(self.key, key, label, "each", unit, values, tuple(exprs), places=places))

    def table(self) -> Table:
        """Return the finished table."""
        return Table(self.key, self.title, self.orientation, tuple(self.fields), self.note, self.spare)


@dataclass(frozen=True, slots=True)
class Chart:
    """A picture on a sheet: bars of `series` fields over the `labels` field."""

    title: str
    labels: Field
    series: tuple[Field, ...]
    axis: str


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet of the workbook: one role, a purpose in a sentence, and its tables from top to bottom."""

    title: str
    role: Role
    purpose: str
    tables: tuple[Table, ...]
    charts: tuple[Chart, ...] = ()
    landscape: bool = True


@dataclass(frozen=True, slots=True)
class Book:
    """The whole workbook as data; sheets read from left to right, no sheet reads one to its right."""

    sheets: tuple[Sheet, ...]

    def table(self, key: str) -> Table:
        """Return the table of that key.

        Raises:
            KeyError: no sheet has such a table.
        """
        for sheet in self.sheets:
            for table in sheet.tables:
                if table.key == key:
                    return table
        raise KeyError(key)


__all__ = ["Book", "Chart", "Draft", "Field", "Here", "Kind", "Role", "Sheet", "Table"]
