"""A delivered workbook file, read with openpyxl's own tokenizer and recalculated by another program."""

import io
import re
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property, partial
from itertools import takewhile
from pathlib import Path

import ironcalc
import openpyxl
from openpyxl.cell.cell import Cell
from openpyxl.formula import Tokenizer
from openpyxl.formula.tokenizer import Token
from openpyxl.utils import get_column_letter
from openpyxl.utils.cell import range_boundaries
from openpyxl.worksheet.worksheet import Worksheet

from estimator.core.errors import Problem

REFERENCE = re.compile(
    r"(?:(?:'((?:[^']|'')+)'|([A-Za-z0-9_.]+))!)?(\$?[A-Z]{1,3}\$?\d+(?::\$?[A-Z]{1,3}\$?\d+)?)$"
)

Place = tuple[str, int, int]


@dataclass(frozen=True)
class Area:
    """Cells that a formula reads."""

    sheet: str
    left: int
    top: int
    right: int
    bottom: int

    def places(self) -> Iterator[Place]:
        for row in range(self.top, self.bottom + 1):
            for column in range(self.left, self.right + 1):
                yield self.sheet, row, column


@dataclass(frozen=True)
class Block:
    """A table as found by its hidden header cell ``key:TABLE:ORIENTATION``; a list's keys stand beside it."""

    sheet: str
    table: str
    down: bool
    keys: int
    last: int
    right: int


@dataclass
class Delivered:
    """A workbook file, opened once for all rules."""

    raw: bytes
    names: dict[str, Area] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.book = openpyxl.load_workbook(io.BytesIO(self.raw))
        self.values = openpyxl.load_workbook(io.BytesIO(self.raw), data_only=True)
        for name, defined in self.book.defined_names.items():
            area = self.area(defined.attr_text or "", "")
            if area:
                self.names[name.casefold()] = area

    def area(self, text: str, sheet: str) -> Area | None:
        """Return what a reference or a name reads, None if it is neither."""
        match = REFERENCE.match(text)
        if match is None:
            return self.names.get(text.casefold())
        own = (match[1] or match[2] or sheet).replace("''", "'")
        left, top, right, bottom = range_boundaries(match[3].replace("$", ""))
        return Area(own, int(left or 0), int(top or 0), int(right or 0), int(bottom or 0))

    @cached_property
    def formulas(self) -> dict[Place, str]:
        return {
            (sheet.title, cell.row, cell.column): str(cell.value)
            for sheet in self.book.worksheets
            for cell in cells(sheet)
            if cell.data_type == "f"
        }

    @cached_property
    def tokens(self) -> dict[Place, list[Token]]:
        return {place: Tokenizer(text).items for place, text in self.formulas.items()}

    @cached_property
    def reads(self) -> dict[Place, list[Area]]:
        """The areas each formula reads."""
        return {
            place: [a for t in tokens if t.subtype == Token.RANGE if (a := self.area(t.value, place[0]))]
            for place, tokens in self.tokens.items()
        }

    @cached_property
    def order(self) -> dict[str, int]:
        return {sheet.title: number for number, sheet in enumerate(self.book.worksheets)}

    @cached_property
    def blocks(self) -> list[Block]:
        found = []
        for sheet in self.book.worksheets:
            marks = [c for c in cells(sheet) if c.column == 1 and str(c.value).startswith("key:")]
            for number, mark in enumerate(marks):
                end = marks[number + 1].row - 1 if number + 1 < len(marks) else sheet.max_row
                _, table, way = str(mark.value).split(":")
                every = range(mark.row + 1, end + 1)
                keyed = partial(_keyed, sheet, way)
                rows = list(takewhile(keyed, every) if way == "list" else filter(keyed, every))
                right = max((c.column for c in sheet[mark.row] if c.value is not None), default=1)
                last = max(rows, default=mark.row + 1)
                found.append(Block(sheet.title, table, way != "across", mark.row, last, right))
        return found

    def role(self, sheet: str) -> str:
        return str(self.book[sheet].cell(3, 2).value).partition(":")[0]

    def block_of(self, place: Place) -> Block | None:
        sheet, row, _ = place
        return next((b for b in self.blocks if b.sheet == sheet and b.keys < row <= b.last), None)

    @cached_property
    def checks(self) -> set[Place]:
        """Formula cells that say 'ok' or 'look'."""
        return {p for p in self.formulas if self.values[p[0]].cell(p[1], p[2]).value in {"ok", "look"}}

    def behind(self, start: Place) -> set[Place]:
        """Return every cell that `start` depends on."""
        seen: set[Place] = set()
        ahead = [start]
        while ahead:
            for area in self.reads.get(ahead.pop(), []):
                fresh = [p for p in area.places() if p not in seen]
                seen.update(fresh)
                ahead += [p for p in fresh if p in self.formulas]
        return seen

    def model(self) -> "ironcalc.Model":
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "book.xlsx"
            path.write_bytes(self.raw)
            return ironcalc.load_from_xlsx(str(path), "en", "UTC", "en")


def _keyed(sheet: Worksheet, way: str, row: int) -> bool:
    """Return whether a row has a key; under a list stand texts that run over several columns."""
    if way != "list":
        return sheet.cell(row, 1).value is not None
    beside = sheet.cell(row, 3)
    return sheet.cell(row, 2).value is not None and (beside.value is not None or not beside.protection.locked)


def cells(sheet: Worksheet) -> Iterator[Cell]:
    for row in sheet.iter_rows():
        for cell in row:
            if isinstance(cell, Cell) and cell.value is not None:
                yield cell


def address(place: Place) -> str:
    return f"{place[0]}!{get_column_letter(place[2])}{place[1]}"


def breach(where: str, what: str) -> Problem:
    return Problem(where, what, "")
