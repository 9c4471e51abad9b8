"""The sheet being written: its cells, the results its formulas must show, and how wide its columns are."""

import datetime as dt
from dataclasses import dataclass, field

from openpyxl.styles.cell_style import StyleArray
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from estimator.calc.expressions import Call, Expr, Op, Value
from estimator.calc.formulas import Renderer
from estimator.workbook.styles import Styles, dress
from estimator.workbook.texts import escaped

NARROW, WIDE, ROOM, LINE, PAGE = 8.0, 52.0, 2.5, 10.0, 120.0
SLIM = 1.2
"""Letters of running text that fit where one digit does."""
_TRUTHS = {"AND", "OR", "NOT"}


def lines(text: str, room: float) -> int:
    """Return the lines a text takes when it wraps at words, `room` characters to a line."""
    count = 0
    for part in text.split("\n"):
        used = 0.0
        count += 1
        for word in part.split(" "):
            if used and used + len(word) > room:
                count, used = count + 1, 0.0
            count += max(int((len(word) - 1) // max(room, 1.0)), 0)
            used += len(word) + 1
    return count


@dataclass
class Desk:
    """What the writers of a sheet share.

    Attributes:
        results: what each formula cell must show, by its address.
        widths: characters needed by each column.
        last: the last column of the sheet's tables.
        later: texts over several columns, written when all widths are known: row, columns, text, look.
        wrapped: texts that may need several lines in one cell: row, column, text.
    """

    sheet: Worksheet
    styles: Styles
    renderer: Renderer
    results: dict[str, Value | bool] = field(default_factory=dict)
    widths: dict[int, float] = field(default_factory=dict)
    last: int = 2
    later: list[tuple[int, tuple[int, int], str, str]] = field(default_factory=list)
    wrapped: list[tuple[int, int, str]] = field(default_factory=list)

    def write(self, row: int, column: int, value: Value, style: StyleArray) -> None:
        """Write a value; text stays text, whatever it begins with."""
        cell = self.sheet.cell(row, column)
        dress(cell, style)
        if isinstance(value, str):
            cell.value = escaped(value)
            cell.data_type = "s"
        elif value is not None:
            cell.value = value if isinstance(value, dt.date) else float(value)

    def calculate(self, place: tuple[int, int], expr: Expr, at: int, value: Value, style: StyleArray) -> None:
        """Write a formula and note its result; `at` is its row or case in its table."""
        cell = self.sheet.cell(*place)
        dress(cell, style)
        cell.value = self.renderer.formula(expr, at)
        truth = (isinstance(expr, Op) and expr.sign in "<=>=") or (
            isinstance(expr, Call) and expr.name in _TRUTHS
        )
        self.results[cell.coordinate] = bool(value) if truth else value

    def widen(self, column: int, characters: float) -> None:
        """Make a column at least so many characters wide."""
        self.widths[column] = max(self.widths.get(column, 0.0), characters)

    def width(self, column: int) -> float:
        """Return the width of a column in characters."""
        return min(max(self.widths.get(column, 0.0) + ROOM, NARROW), WIDE)

    def wrap(self, row: int, column: int, text: str) -> None:
        """Let a row grow with a text that wraps, once the width of its column is known."""
        if len(text) > NARROW - ROOM or "\n" in text:
            self.wrapped.append((row, column, text))

    def finish(self) -> None:
        """Set the width of every column, then the heights and texts that waited for them."""
        for column in range(2, self.last + 1):
            self.sheet.column_dimensions[get_column_letter(column)].width = self.width(column)
        for row, column, text in self.wrapped:
            self._heighten(row, lines(text, SLIM * (self.width(column) - ROOM / 2)), LINE)
        self.finish_later()

    def finish_later(self) -> None:
        """Write the texts that wait."""
        for row, columns, text, look in self.later:
            self._spread(row, columns, text, look)
        self.later.clear()

    def _spread(self, row: int, columns: tuple[int, int], text: str, look: str) -> None:
        first, last = columns
        self.write(row, first, text or None, self.styles.of(look, wrap=True))
        if not text:
            return
        wanted = min(len(text) + ROOM, PAGE if first == 2 else PAGE / 2)  # noqa: PLR2004 - column B
        while last > first and sum(self.width(c) for c in range(first, last)) >= wanted:
            last -= 1
        if last > first:
            self.sheet.merge_cells(start_row=row, start_column=first, end_row=row, end_column=last)
        room = SLIM * (sum(self.width(c) for c in range(first, last + 1)) - ROOM)
        self._heighten(row, lines(text, room), self.styles.size(look))

    def _heighten(self, row: int, count: int, size: float) -> None:
        if count > 1 or size > LINE:
            shape = self.sheet.row_dimensions[row]
            shape.height = max(shape.height or 0.0, (size + 3.5) * count + 2.0)
