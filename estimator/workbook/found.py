"""The rows of a returned workbook: tables are found by their marks, rows by their keys, wherever they are."""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from openpyxl.utils import get_column_letter

from estimator.calc.tables import input_key
from estimator.core.errors import refuse
from estimator.intake.cells import Cell, Place
from estimator.intake.package import ASK
from estimator.workbook.blocks import LIST, MARK, ONLY_CASE

BLANK = Cell(None)
KEY_HEAD = "key"
MOST_TABLES, MOST_BESIDE, WIDEST, MOST_KEYED = 2_000, 32, 256, 200_000
Sheets = Mapping[str, Mapping[Place, Cell]]


@dataclass(frozen=True, slots=True)
class KeyedRow:
    """A row found by its key; of a form, the row of a field.

    Attributes:
        sheet, number: where it stands now.
        table, key: of the table, of the row.
        across: whether it is of a form.
        column: of its key.
        cells: by head (of a form: by case, '' for an only one) the column and the cell, blank ones too.
        beside: of a form, what stands between the key and the cases: its label and unit.
    """

    sheet: str
    number: int
    table: str
    key: str
    across: bool
    column: int
    cells: Mapping[str, tuple[int, Cell]]
    beside: tuple[Cell, ...] = ()

    @property
    def where(self) -> str:
        """Return the place of the row as a person says it."""
        return f"{self.sheet}, row {self.number}"

    def address(self, head: str) -> str:
        """Return the place of a cell as a person says it: ``Build-up D21``."""
        return address(self.sheet, (self.number, self.cells[head][0]))

    def input_key(self, head: str) -> str:
        """Return the key of a cell: ``table.field.row``."""
        return input_key(self.table, *((self.key, head) if self.across else (head, self.key)))


def address(sheet: str, place: Place) -> str:
    """Return the place of a cell as a person says it: ``Build-up D21``."""
    return f"{sheet} {get_column_letter(place[1])}{place[0]}"


@dataclass(frozen=True, slots=True)
class _Table:
    """A table that its mark opens: its name, whether it is a form, and the columns of its keys and heads."""

    name: str
    across: bool
    column: int
    heads: Mapping[int, str]


def _opened(column: int, filled: Mapping[int, Cell]) -> _Table | None:
    """Return the table that a cell opens; None if it is no mark."""
    value = filled[column].value
    parts = value.split(":") if isinstance(value, str) else []
    if len(parts) != 3 or parts[0] != MARK:  # noqa: PLR2004 - key, table, orientation
        return None
    right = range(column + 1, column + 1 + WIDEST)
    heads = {c: str(filled[c].value) for c in right if c in filled}
    across = parts[2] == "across"
    if parts[2] == LIST:
        column = next((c for c, head in heads.items() if head == KEY_HEAD), column)
    names = {c: "" if across and h == ONLY_CASE else h for c, h in heads.items() if c > column}
    return _Table(parts[1], across, column, names)


def _row(sheet: str, number: int, table: _Table, filled: Mapping[int, Cell]) -> KeyedRow:
    held = {head: (c, filled.get(c, BLANK)) for c, head in table.heads.items()}
    between = range(table.column + 1, min(table.heads, default=0)) if table.across else ()
    beside = tuple(filled[c] for c in between if c in filled)
    key = str(filled[table.column].value)
    return KeyedRow(sheet, number, table.name, key, table.across, table.column, held, beside)


def _rows(sheets: Sheets) -> Iterator[KeyedRow]:
    """Yield every row; a table ends where the next begins below its mark."""
    marks = 0
    for sheet, cells in sheets.items():
        by_row = defaultdict[int, dict[int, Cell]](dict)
        for (number, column), cell in sorted(cells.items()):
            by_row[number][column] = cell
        tables: dict[int, _Table] = {}
        for number, filled in by_row.items():
            opened = {c: table for c in filled if (table := _opened(c, filled))}
            marks += len(opened)
            if marks > MOST_TABLES or len(tables) > MOST_BESIDE:
                raise refuse(sheet, f"the workbook holds over {MOST_TABLES:,} tables", ASK)
            for column, table in tables.items():
                if column not in opened and filled.get(table.column, BLANK).value is not None:
                    yield _row(sheet, number, table, filled)
            tables |= opened


def rows_of(sheets: Sheets) -> list[KeyedRow]:
    """Return every row under a mark that has something for a key.

    Under a list stand notes, and the title of the next table, where its keys do: they look like rows.

    Raises:
        InputError: more tables or keyed cells than any workbook of ours has.
    """
    found, keyed = list[KeyedRow](), 0
    for row in _rows(sheets):
        found.append(row)
        keyed += len(row.cells)
        if keyed > MOST_KEYED:
            raise refuse("workbook", f"holds over {MOST_KEYED:,} cells with keys", ASK)
    return found
