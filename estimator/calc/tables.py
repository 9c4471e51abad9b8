"""Tables, sheets and the book: what the workbook shows, each value beside its formula; where it stands.

A table is drafted field by field, each computed as soon as it is added, so no figure can be asked for
before it exists; the finished records are frozen.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from dataclasses import field as data_field
from itertools import count, islice
from typing import Literal

from openpyxl.utils import get_column_letter

from estimator.calc.evaluation import evaluate
from estimator.calc.expressions import Call, Expr, Field, KeyAt, Kind, Op, Operand, Value, call, find, if_

SPARE = "spare-"


def row_keys(table: Table) -> tuple[str, ...]:
    """Return the keys of a table's rows, spare ones last; of a form, the keys of its cases.

    A spare row that was filled in keeps its key, so fresh spare rows count past it.
    """
    spare = table.spare if table.orientation == "down" else 0
    own = case_keys(table.orientation, table.fields, table.count)
    free = (key for key in (f"{SPARE}{i}" for i in count(1)) if key not in own)
    return (*own, *islice(free, spare))


def written_by_office(key: str) -> bool:
    """Return whether a row of that key is the office's to write, labels too: a spare row, filled or not."""
    return key.startswith(SPARE)


def own_rows(table: Table) -> int:
    """Return how many rows the program filled; the office's own follow them, then the spare ones.

    Only a table with spare rows has rows of the office's own; others may follow it row by row.
    """
    keys = case_keys(table.orientation, table.fields, table.count)
    return sum(not (table.spare and written_by_office(key)) for key in keys)


def is_open(field: Field, *, spare: bool) -> bool:
    """Return whether the office may write into a field's cells; spare rows take their labels too."""
    return field.kind == "input" or (spare and field.kind == "label")


def input_cells(book: Book) -> Iterator[tuple[str, Field, int]]:
    """Yield key, field and index of every cell open to the office; spare rows count on after the rest."""
    for table in (t for s in book.sheets for t in s.tables):
        own = own_rows(table)
        for index, row in enumerate(row_keys(table)):
            for field in table.fields:
                if is_open(field, spare=index >= own):
                    yield input_key(field.table, field.key, row), field, index


def bindings(tables: Sequence[Table]) -> Table:
    """Return the table that checks each defined name still stands beside its own key and words.

    Sorting or deleting the rows of a form leaves its names pointing elsewhere while totals still agree;
    this table then says 'look'. For a control sheet.

    Args:
        tables: forms of one case; others have no names and are passed over.
    """
    forms = [t for t in tables if t.orientation == "across" and t.count == 1]
    named = [f for t in forms for f in t.fields if f.kind == "input"]
    draft = Draft("bindings", "Named inputs")
    keys = draft.keys([f.key for f in named])
    label = draft.label("label", "Input", [f.label for f in named])
    found = draft.each("found", "Key found", "", [call("IFERROR", KeyAt(f), "gone") for f in named])
    words = draft.each("words", "Words beside it", "", [call("IFERROR", KeyAt(f, 1), "gone") for f in named])
    both = if_(call("AND", found.eq(keys), words.eq(label)), "ok", "look")
    draft.formula("check", "Check", "", call("IFERROR", both, "look"))
    return draft.table()


def _moved(expr: Expr, to: dict[Field, Field]) -> Expr:
    if isinstance(expr, Field):
        return to.get(expr, expr)
    if isinstance(expr, Op):
        return Op(expr.sign, _moved(expr.left, to), _moved(expr.right, to))
    if isinstance(expr, Call):
        return Call(expr.name, tuple(_moved(a, to) for a in expr.args))
    return expr


def padded(table: Table) -> Table:
    """Return `table` with its spare rows as cells: keyed, blank, each formula evaluated on blanks.

    Raises:
        CellError: a formula that a blank row makes an error; wrap it in IFERROR.
    """
    if table.orientation == "across" or not table.spare:
        return table
    rows = range(table.count, table.count + table.spare)
    moved: dict[Field, Field] = {}
    for field in table.fields:
        more: tuple[Value, ...] = (None,) * table.spare
        if field.kind == "key":
            more = row_keys(table)[table.count :]
        elif field.kind == "formula":
            expr = _moved(field.exprs[0], moved)
            more = tuple(evaluate(expr, row) for row in rows)
        moved[field] = replace(field, values=field.values + more)
    return replace(table, fields=tuple(moved.values()))


Role = Literal["inputs", "workings", "outputs", "control"]


@dataclass(frozen=True, slots=True)
class Table:
    """A block of a sheet: fields as columns ('down', one row a key) or as rows ('across', one column a case).

    Attributes:
        note: a sentence or two under the table.
        spare: empty keyed input rows kept below, for the office to fill.
        faint: key of the column of a number: rows where it is 0 are shown faint; '' for none.
    """

    key: str
    title: str
    orientation: Literal["down", "across"]
    fields: tuple[Field, ...]
    note: str = ""
    spare: int = 0
    faint: str = ""

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

    @property
    def lead(self) -> int:
        """Return the hidden columns before its fields: 1 where keys are shown and may be sorted, else 0."""
        return int(self.orientation == "down" and bool(self.fields) and self.fields[0].shown)

    def of(self, key: str, row: Operand) -> Expr:
        """Return the cell of the field `key` in the row whose key is `row`, wherever that row stands."""
        return find(self[key], self["key"], row)

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
    faint: str = ""
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

    @property
    def count(self) -> int:
        """Return the number of rows (or cases) so far."""
        return len(self.fields[0].values) if self.fields else 0

    def keys(self, values: Sequence[str], label: str = "Key") -> Field:
        """Add the column of keys, hidden, left of what people see; returns the field."""
        return self._add(Field(self.key, "key", label, "key", "", tuple(values)))

    def names(self, values: Sequence[str], label: str) -> Field:
        """Add keys that people see as the first column and sort along with their rows; returns the field."""
        return self._add(Field(self.key, "key", label, "key", "", tuple(values), shown=True))

    def label(
        self,
        key: str,
        label: str,
        values: Sequence[Value],
        unit: str = "",
        *,
        width: int = 0,
        offers: bool = False,
    ) -> Field:
        """Add text; with `offers`, spare cells offer what stands in the column."""
        field = Field(self.key, key, label, "label", unit, tuple(values), width=width, offers=offers)
        return self._add(field)

    def link(self, key: str, label: str, values: Sequence[Value]) -> Field:
        """Add keys of another table for formulas to look up; people read the words beside them."""
        return self._add(Field(self.key, key, label, "label", "", tuple(values), link=True))

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
        optional: bool = False,
        blank: Value = None,
    ) -> Field:
        """Add cells for the office to change, within `low` to `high`, among `choices` or keys of `picks`.

        An empty one is refused, unless it is `optional` or counts as `blank`.
        """
        rows = case_keys(self.orientation, self.fields, len(values))
        own = (self.edits.get(input_key(self.key, key, r), v) for r, v in zip(rows, values, strict=True))
        filled = tuple(blank if v is None else v for v in own)
        field = Field(self.key, key, label, "input", unit, filled, (), low, high, tuple(choices))
        field = replace(field, optional=optional or blank is not None, blank=blank)
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
        fields = tuple(self.fields)
        return Table(self.key, self.title, self.orientation, fields, self.note, self.spare, self.faint)


@dataclass(frozen=True, slots=True)
class Chart:
    """A picture on a sheet: bars of `series` fields over the `labels` field."""

    title: str
    labels: Field
    series: tuple[Field, ...]
    axis: str


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet of the workbook: one role, a purpose in a sentence, and its tables from top to bottom.

    A hidden one works for the others: nobody needs to see it.
    """

    title: str
    role: Role
    purpose: str
    tables: tuple[Table, ...]
    charts: tuple[Chart, ...] = ()
    hidden: bool = False


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


__all__ = ["Book", "Chart", "Draft", "Field", "Kind", "Role", "Sheet", "Table"]


FIRST_ROW = 4
HEAD_ROWS = 4
FORM_LEAD = 3


@dataclass(frozen=True, slots=True)
class TableSpot:
    """Where a table stands.

    Attributes:
        sheet: the sheet's title.
        top: row of its title line; labels at top + 1, units at top + 2, keys at top + 3.
        first: first data row.
        rows: data rows shown, never 0: a range needs a cell.
    """

    sheet: str
    top: int
    first: int
    rows: int
    table: Table

    @property
    def last(self) -> int:
        """Return the last data row."""
        return self.first + self.rows - 1


def data_rows(table: Table) -> int:
    """Return the rows a table takes for its data, at least 1."""
    if table.orientation == "across":
        return max(len(table.fields), 1)
    return max(table.count + table.spare, 1)


def footer(table: Table) -> tuple[str, ...]:
    """Return the lines under a table: its note, and where the inputs of its columns came from."""
    lines = [table.note] if table.note else []
    if table.orientation == "down":
        cited = [f"{f.label}: {f.source}" for f in table.fields if f.source]
        lines += ["Sources. " + "; ".join(cited) + "."] if cited else []
    return tuple(lines)


def spots(sheet: Sheet) -> Iterator[TableSpot]:
    """Yield the place of every table of a sheet, from top to bottom."""
    top = FIRST_ROW
    for table in sheet.tables:
        rows = data_rows(table)
        yield TableSpot(sheet.title, top, top + HEAD_ROWS, rows, table)
        top += HEAD_ROWS + rows + len(footer(table)) + 2


class FieldAddresses:
    """The address of every field of a book."""

    def __init__(self, book: Book) -> None:
        self.spots = {spot.table.key: spot for sheet in book.sheets for spot in spots(sheet)}
        self._columns = {
            (table.key, field.key): number
            for table in (s.table for s in self.spots.values())
            for number, field in enumerate(table.fields, start=1 + table.lead)
        }

    def is_named(self, field: Field) -> bool:
        """Return whether the field's first cell carries a defined name: the only case of a form."""
        table = self.spots[field.table].table
        return table.orientation == "across" and table.count == 1

    def cell(self, field: Field, index: int) -> tuple[str, int, int]:
        """Return (sheet title, row, column) of one cell, all from 1."""
        spot = self.spots[field.table]
        number = self._columns[field.table, field.key]
        if spot.table.orientation == "across":
            return spot.sheet, spot.first + number - 1, FORM_LEAD + 1 + index
        return spot.sheet, spot.first + index, number

    def span(self, field: Field) -> tuple[str, int, int, int, int]:
        """Return (sheet title, first row, first column, last row, last column) of the whole field."""
        spot = self.spots[field.table]
        sheet, row, column = self.cell(field, 0)
        if spot.table.orientation == "across":
            return sheet, row, column, row, column + max(spot.table.count, 1) - 1
        return sheet, spot.first, column, spot.last, column


def quoted(sheet: str) -> str:
    """Return a sheet's title as it stands in a reference."""
    plain = sheet.isalnum() and sheet.isascii() and not sheet[0].isdigit()
    return sheet if plain else "'" + sheet.replace("'", "''") + "'"


def absolute(row: int, column: int) -> str:
    """Return ``$C$7``."""
    return f"${get_column_letter(column)}${row}"
