"""Lists of pieces as a user keeps them: a CSV file with a heading, sizes with their units, one row a kind.

Sticks have the columns ``length, count, name``; sheets and cloth ``width, height, count, name``. `count`
and `name` may be left out. Every problem of a list is reported at once, with file, line and column.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import islice
from pathlib import Path

from estimator.core.characters import escaped
from estimator.core.errors import InputError, Problem
from estimator.core.units import Nm, parse_length
from estimator.cutting.plans import MOST_PIECES
from estimator.intake.files import read_bytes, text_of
from estimator.intake.structured import rows as rows_of

STICK_COLUMNS = ("length",)
SHEET_COLUMNS = ("width", "height")
MOST_BYTES = 5_000_000
"""Of a list: a thousand characters a piece."""
_LONGEST_NAME = 200
"""Characters of a name: more fit no label."""


@dataclass(frozen=True, slots=True)
class ListedPiece:
    """One row of a list.

    Attributes:
        name: what is printed on the label; ``line 7`` where the row has none.
        sizes: one length for each size column asked for, in that order, each greater than 0.
        count: how many, at least 1.
        line: line of the row in the file, from 1.
    """

    name: str
    sizes: tuple[Nm, ...]
    count: int
    line: int


@dataclass(frozen=True, slots=True)
class PieceList:
    """The rows of a list, in order, and the warnings that travel with them."""

    rows: tuple[ListedPiece, ...]
    warnings: tuple[Problem, ...] = ()


Fits = Callable[[tuple[Nm, ...]], tuple[str, str] | None]
"""Told the sizes of a row: None where there is stock for it, else what is wrong and what would be right."""


def _anything_fits(_: tuple[Nm, ...]) -> None:
    return None


class _Reader:
    """Reads one list and keeps every problem found on the way."""

    def __init__(self, file: str, columns: Sequence[str], unit: str, fits: Fits) -> None:
        self.file, self.columns, self.unit, self.fits = file, tuple(columns), unit, fits
        self.problems: list[Problem] = []
        self.warnings: list[Problem] = []

    def bad(self, line: int, where: str, what: str, fix: str) -> None:
        self.problems.append(Problem(where, what, fix, self.file, line))

    def heading(self, cells: Sequence[str], line: int) -> dict[str, int]:
        names = [cell.lower() for cell in cells]
        wanted = (*self.columns, "count", "name")
        layout = ", ".join(wanted)
        for name in self.columns:
            if name not in names:
                self.bad(
                    line, f"column {name}", "the heading has no such column", f"Name the columns {layout}."
                )
        for name in sorted({n for n in names if n in wanted and names.count(n) > 1}):
            self.bad(line, f"column {name}", "the heading names it more than once", "Keep one of them.")
        if unknown := ", ".join(n for n in names if n and n not in wanted):
            fix = f"Columns that are read: {layout}."
            where = f"column {escaped(unknown)}"
            self.warnings.append(Problem(where, "unknown, not read", fix, self.file, line, "warning"))
        return {name: names.index(name) for name in wanted if name in names}

    def size(self, text: str, line: int, column: str) -> Nm:
        try:
            length = parse_length(f"{text} {self.unit}" if self.unit and _is_bare(text) else text)
        except ValueError as error:
            self.bad(line, f"column {column}", str(error), "")
            return 0
        if length <= 0:
            self.bad(line, f"column {column}", f"{text!r} is nothing to cut", "Write a size greater than 0.")
        return length

    def count(self, text: str, line: int) -> int:
        if text.isascii() and text.isdigit() and len(text) < 20 and 0 < int(text) <= MOST_PIECES:  # noqa: PLR2004
            return int(text)
        what = "is more than a list may hold" if text.isascii() and text.isdigit() else "is not a count"
        what = "is no piece at all" if text and not text.strip("0") else what
        fix = f"Write a whole number from 1 to {MOST_PIECES:,}."
        self.bad(line, "column count", f"{text[:40]!r} {what}", fix)
        return 0

    def row(self, cells: Sequence[str], at: dict[str, int], line: int) -> ListedPiece:
        def cell(column: str) -> str:
            place = at.get(column, len(cells))
            return cells[place] if place < len(cells) else ""

        sizes = tuple(self.size(cell(column), line, column) for column in self.columns)
        count = self.count(cell("count"), line) if cell("count") else 1
        name = cell("name")
        if len(name) > _LONGEST_NAME:
            self.bad(line, "column name", f"longer than {_LONGEST_NAME} characters", "Shorten it.")
        name = name or f"line {line}"
        if min(sizes) > 0 and (unfit := self.fits(sizes)):
            self.bad(line, f"column {self.columns[0]}", f"{name!r} is {unfit[0]}", unfit[1])
        return ListedPiece(name, sizes, count, line)


def _is_bare(text: str) -> bool:
    return bool(text) and (text[-1].isdigit() or text[-1] == ".")


def parse_list(
    data: bytes, file: str, columns: Sequence[str], unit: str = "", fits: Fits = _anything_fits
) -> PieceList:
    """Return the list held in `data`.

    Args:
        data: the file's bytes: UTF-8, with a heading; separated by commas, semicolons or tabs.
        file: the file's name, for the problems.
        columns: the size columns wanted, `STICK_COLUMNS` or `SHEET_COLUMNS`.
        unit: unit of sizes written as bare numbers; '' refuses those.
        fits: what says whether there is stock for a row.

    Raises:
        InputError: with every problem found.
    """
    reader = _Reader(file, columns, unit, fits)
    rows: list[ListedPiece] = []
    try:
        records = rows_of(text_of(data, file), file)
        line, cells = next(records, (1, []))
        at = reader.heading(cells, line)
        if not reader.problems:
            rows = [reader.row(cells, at, line) for line, cells in islice(records, MOST_PIECES + 1)]
    except InputError as error:
        reader.problems += error.problems
    if not reader.problems and not rows:
        reader.bad(0, "file", "no pieces in the list", f"Add rows of {', '.join(columns)}, count, name.")
    if sum(row.count or 1 for row in rows) > MOST_PIECES:
        reader.bad(0, "column count", f"more than {MOST_PIECES:,} pieces in all", "Split the list.")
    if reader.problems:
        raise InputError(reader.problems)
    return PieceList(tuple(rows), tuple(reader.warnings))


def read_list(path: Path, columns: Sequence[str], unit: str = "", fits: Fits = _anything_fits) -> PieceList:
    """Return the list in the file at `path`; see `parse_list`.

    Raises:
        InputError: the file cannot be read, is too large, or has problems.
    """
    return parse_list(read_bytes(path, str(path), MOST_BYTES), str(path), columns, unit, fits)
