"""The sheet being written: its cells, the results its formulas must show, and how wide its columns are.

Text is measured, so that columns fit it and rows are as high as it wraps. Widths are those of Helvetica,
which Arial and the faces that stand in for it share.
Source: Adobe Core 14 font metrics (AFM), Helvetica, rounded up to 1/100 em; from memory.
"""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

from openpyxl.styles.cell_style import StyleArray
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from estimator.calc.expressions import Call, Expr, Op, Value
from estimator.calc.formulas import Renderer
from estimator.workbook.fitting import NAMES, Fit, fitted
from estimator.workbook.styles import Styles, dress
from estimator.workbook.texts import escaped

BOLD = 1.08
"""Bold letters against plain ones; the same metrics, over the small letters."""
WIDEST_EM = 1.02
TOLERANCE = 0.5
"""Points that a line may be longer than its room; sums of widths differ by less."""
LINE_EM, PAD_POINTS = 1.2, 2.0
"""Height of a line in em, and what a row keeps above and below; common practice, no source."""
KEPT_TEXTS = 1 << 15
"""Texts whose measure is kept: names and words return in row after row."""
_WIDTHS = {
    0.20: "'", 0.23: "ijl", 0.27: "|", 0.28: " \u00a0!,./:;I[\\]ft·", 0.34: "()-`r{}²³", 0.36: '"', 0.39: "*",
    0.40: "°", 0.47: "^", 0.50: "Jcksvxyz", 0.56: "#$?0123456789L_abdeghnopqu–", 0.59: "+<=>~×÷",
    0.62: "FTZ", 0.67: "&ABEKPSVXY", 0.73: "CDHNRUw", 0.78: "GOQ", 0.84: "Mm½¼¾", 0.89: "%", 0.95: "W",
}  # fmt: skip
_EM = {letter: width for width, letters in _WIDTHS.items() for letter in letters}


@lru_cache(maxsize=KEPT_TEXTS)
def text_points(text: str, size: float, *, bold: bool = False) -> float:
    """Return how wide one line of text is, in points.

    Args:
        text: one line.
        size: of the letters, points.
        bold: whether they are bold.
    """
    return size * (BOLD if bold else 1.0) * sum(_EM.get(letter, WIDEST_EM) for letter in text)


@lru_cache(maxsize=KEPT_TEXTS)
def line_count(text: str, size: float, room: float, *, bold: bool = False) -> int:
    """Return the lines a text takes when it wraps at words in `room` points."""
    space = text_points(" ", size, bold=bold)
    count = 0
    for part in text.split("\n"):
        used = 0.0
        count += 1
        for word in part.split(" "):
            wide = text_points(word, size, bold=bold)
            if used and used + wide > room + TOLERANCE:
                count, used = count + 1, 0.0
            count += max(int((wide - 1) // max(room, 1.0)), 0)
            used += wide + space
    return count


def row_points(lines: int, size: float) -> float:
    """Return how high a row of so many lines is, in points."""
    return round(lines * size * LINE_EM + PAD_POINTS, 1)


NARROW, ROOM, PAGE = 7.0, 2.5, 120.0
"""Characters: of the narrowest column, kept beside what a cell holds, of the longest line that reads well."""
POINTS = 5.25
"""Width of one character of a column on a screen, the narrowest it is ever given: 7 pixels of 1/96 inch."""
LONGEST_WORD = 30.0
"""Characters of the longest word that is never broken; common practice, no source."""
PLAIN_SIZE = 10.0
_TRUTHS = {"AND", "OR", "NOT"}
_HEADS = {"title", "purpose", "table"}


@dataclass
class SheetDesk:
    """What the writers of a sheet share.

    Attributes:
        results: what each formula cell must show, by its address.
        least: by column, characters without which a number or word is cut.
        wants: by column, characters that hold everything in one line.
        last: the last column of the sheet's tables.
        alone: whether its one table has every column to itself.
        hidden: columns of links, which only formulas read.
        fit: widths and page, once all is written.
        later: texts over several columns, written when all widths are known: row, columns, text, look.
        tag: what the sheet is for the office, in its third row.
        back: the words of the way back, beside it; '' for none.
        way: the column of the way back, once the widths are known.
        texts: every text that was written.
        wrapped: texts that may need several lines in one cell: row, column, text, look.
    """

    sheet: Worksheet
    styles: Styles
    renderer: Renderer
    results: dict[str, Value | bool] = field(default_factory=dict)
    least: dict[int, float] = field(default_factory=dict)
    wants: dict[int, float] = field(default_factory=dict)
    last: int = 2
    alone: bool = False
    hidden: set[int] = field(default_factory=set)
    fit: Fit = field(init=False)
    later: list[tuple[int, tuple[int, int], str, str]] = field(default_factory=list)
    wrapped: list[tuple[int, int, str, str]] = field(default_factory=list)
    texts: set[str] = field(default_factory=set)
    tag: str = ""
    back: str = ""
    way: int = field(init=False)

    def write(self, row: int, column: int, value: Value, style: StyleArray) -> None:
        """Write a value; text stays text, whatever it begins with."""
        cell = self.sheet.cell(row, column)
        dress(cell, style)
        if isinstance(value, str):
            self.texts.add(value)
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

    def widen(self, column: int, characters: float, least: float | None = None) -> None:
        """Ask for a column of so many characters, at least `least` of them; by default all."""
        if column in self.hidden:
            return
        self.wants[column] = max(self.wants.get(column, 0.0), characters)
        kept = characters if least is None else min(least, LONGEST_WORD)
        self.least[column] = max(self.least.get(column, 0.0), kept)

    def hold(self, column: int, text: str, look: str) -> None:
        """Ask for a column that holds a text that may wrap at words, in one line if there is room."""
        size, bold = self.styles.size(look), self.styles.is_bold(look)
        whole = max(text_points(line, size, bold=bold) for line in text.split("\n"))
        word = max((text_points(w, size, bold=bold) for w in text.split(" ")), default=0.0)
        self.widen(column, whole / POINTS, word / POINTS)

    def wrap(self, row: int, column: int, text: str, look: str) -> None:
        """Let a row grow with a text that wraps, once the width of its column is known."""
        if len(text) > NARROW - ROOM or "\n" in text:
            self.wrapped.append((row, column, text, look))

    def finish(self) -> None:
        """Fit the columns to the page, then set the heights and texts that waited for their widths."""
        columns = [c for c in range(2, self.last + 1) if c not in self.hidden]
        self._fit(columns)
        if len(self.fit.groups) == 1 and not self._ways():
            self.widen(NAMES, self._long(self.tag, "role") - ROOM)
            self._fit(columns)
        for column, width in self.fit.widths.items():
            self.sheet.column_dimensions[get_column_letter(column)].width = round(width, 2)
        for column in self.hidden:
            self.sheet.column_dimensions[get_column_letter(column)].hidden = True
        for row, column, text, look in self.wrapped:
            self._heighten(row, text, self.fit.widths[column], look)
        self.way = next(iter(self._ways()), min(c for c in (*columns, self.last + 1) if c > NAMES))
        if self.tag:
            last = max(c for c in columns if c < self.way) if self.back else self.last
            self.later.append((3, (NAMES, last), self.tag, "role"))
        self.finish_later()

    def _fit(self, columns: Sequence[int]) -> None:
        least, wants = (
            {c: max(w.get(c, 0.0) + ROOM, NARROW) for c in columns} for w in (self.least, self.wants)
        )
        heads = [self._long(text, look) for _, (first, _), text, look in self.later if look in _HEADS]
        self.fit = fitted(least, wants, self._rows_height, max([*heads, self._long(self.tag, "role")]))

    def _ways(self) -> list[int]:
        """Return the columns in which the way back finds room beside the tag, on the first page across."""
        widths, end = self.fit.widths, (*self.fit.groups, max(self.fit.widths) + 1)[1]
        tag, back = self._long(self.tag, "role"), self._long(self.back, "link") if self.back else 0.0
        return [
            way
            for way in sorted(widths)[1:]
            if sum(w for c, w in widths.items() if c < way) >= tag
            and sum(w for c, w in widths.items() if way <= c < end) >= back
        ]

    def _long(self, text: str, look: str) -> float:
        """Return the characters that a text takes in one line, with what is kept beside it."""
        points = text_points(text, self.styles.size(look), bold=self.styles.is_bold(look))
        return points / POINTS + ROOM

    def _rows_height(self, widths: Mapping[int, float]) -> float:
        """Return how many lines the rows take in all at these widths."""
        rows: dict[int, int] = {}
        for row, column, text, look in self.wrapped:
            rows[row] = max(rows.get(row, 1), self._lines(text, widths[column], look))
        return sum(rows.values())

    def finish_later(self) -> None:
        """Write the texts that wait; where names are repeated on pages beside, they keep to their column."""
        beside = len(self.fit.groups) > 1
        for row, (first, last), text, look in self.later:
            self._spread(row, (first, first if beside else last), text, look)
        self.later.clear()

    def _spread(self, row: int, columns: tuple[int, int], text: str, look: str) -> None:
        first, last = columns
        self.write(row, first, text or None, self.styles.of(look, wrap=True))
        if not text:
            return
        widths = self.fit.widths
        wanted = min(self._long(text, look), PAGE if first == 2 else PAGE / 2)  # noqa: PLR2004 - column B
        while last > first and sum(widths.get(c, 0.0) for c in range(first, last)) >= wanted:
            last -= 1
        if last > first:
            self.sheet.merge_cells(start_row=row, start_column=first, end_row=row, end_column=last)
        self._heighten(row, text, sum(widths.get(c, 0.0) for c in range(first, last + 1)), look)

    def _lines(self, text: str, width: float, look: str) -> int:
        room = (width - ROOM) * POINTS
        return line_count(text, self.styles.size(look), room, bold=self.styles.is_bold(look))

    def _heighten(self, row: int, text: str, width: float, look: str) -> None:
        size, count = self.styles.size(look), self._lines(text, width, look)
        if count > 1 or size > PLAIN_SIZE:
            shape = self.sheet.row_dimensions[row]
            shape.height = max(shape.height or 0.0, row_points(count, size))
