"""Where every cell of the book stands: sheet, row and column of each field.

Each sheet starts with its title and purpose; each table with a title line, a line of labels, a line of
units and a (hidden) line of keys. A form ('across') has key, label and unit columns, then its cases. A list
whose keys are shown begins in the second column: keys that stood left of what is sorted would stay behind.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from openpyxl.utils import get_column_letter

from estimator.calc.expressions import Field
from estimator.calc.tables import Book, Sheet, Table

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
