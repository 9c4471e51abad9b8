"""The cells of a workbook's sheets: value, kind, and whether a formula stands there.

Source: ISO/IEC 29500-1, 18.3.1.4 (c), 18.4.8 (si), 18.2.19 (sheet), 18.18.11 (types), 22.9.2.19 (_xHHHH_);
limits of rows, columns and text as spreadsheet programs have them.
"""

import posixpath
import re
import zipfile
import zlib
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import NamedTuple
from xml.parsers.expat import ExpatError

from estimator.core.errors import InputError, Problem
from estimator.core.money import as_typed
from estimator.intake.package import ASK, Closes, Opens, Package

MOST_CELLS = 180_000
MOST_TEXT = 8_000_000
LONGEST_TEXT = 32_767
LAST_ROW, LAST_COLUMN = 1_048_576, 16_384
_ADDRESS = re.compile(r"([A-Z]{1,3})([0-9]{1,7})")
_ESCAPED = re.compile(r"_x([0-9A-Fa-f]{4})_")
_DAMAGE = (
    zipfile.BadZipFile, zlib.error, ExpatError, NotImplementedError, EOFError, RuntimeError, LookupError,
    ValueError, OSError,
)  # fmt: skip
Place = tuple[int, int]
Value = Decimal | str | bool | None


class Cell(NamedTuple):
    """What a cell holds.

    Attributes:
        value: number, text (also an error's, such as ``#REF!``), truth, or None.
        is_error: whether the cell shows an error.
        is_formula: whether the value is a formula's last result.
    """

    value: Value
    is_error: bool = False
    is_formula: bool = False


@dataclass(frozen=True, slots=True)
class FilledCells:
    """A workbook's filled cells and its properties.

    Attributes:
        path: where it was read from.
        sheets: the cells by title, then by (row, column) from 1; formulas without a result too.
        properties: custom properties as text; whole numbers without ``.0``, which programs put there.
        comments: notes pinned to cells, by the cell's place: ``Prices D8``.
        pictures: how many image files it holds.
    """

    path: Path
    sheets: Mapping[str, Mapping[Place, Cell]]
    properties: Mapping[str, str]
    comments: Mapping[str, str]
    pictures: int


@cache
def _column(letters: str) -> int:
    return sum((ord(c) - 64) * 26**n for n, c in enumerate(reversed(letters)))


class _PackageReader:
    """Reads the parts of one package; texts and cells of all sheets count together."""

    def __init__(self, package: Package) -> None:
        self.package = package
        self.shared: list[str] = []
        self.runs: list[str] = []
        self.texts = self.cells = 0

    def run(self, text: str) -> None:
        """Take in a piece of a text, or of a cell's value."""
        self.texts += len(text)
        if self.texts > MOST_TEXT:
            raise self.package.refusal("holds more text than a workbook of ours")
        self.runs.append(text)

    def text(self) -> str:
        """Return the text that the pieces make, as its cell shows it."""
        text = "".join(self.runs)
        self.runs.clear()
        if len(text) > LONGEST_TEXT:
            raise self.package.refusal("holds longer texts than a spreadsheet program keeps")
        return _ESCAPED.sub(lambda found: chr(int(found[1], 16)), text) if "_x" in text else text

    def walk(self, part: str, opens: Opens, closes: Closes) -> None:
        """Go through a part that holds texts; their readings are left out."""
        self.package.walk(part, opens, {"t": self.run, "rPh": lambda _: self.runs.pop(), **closes})

    def targets(self, owner: str) -> dict[str, str]:
        """Return what the relations of a part lead to, by id."""
        folder, name = posixpath.split(owner)
        found = dict[str, str]()

        def relation(attributes: Mapping[str, str]) -> None:
            target = posixpath.join("/", folder, attributes["Target"])
            found[attributes["Id"]] = posixpath.normpath(target).lstrip("/")

        self.walk(posixpath.join(folder, "_rels", f"{name}.rels"), {"Relationship": relation}, {})
        return found

    def properties(self) -> dict[str, str]:
        """Return the custom properties."""
        found, names = dict[str, str](), [""]
        opens = {"property": lambda attributes: names.append(attributes.get("name", ""))}
        closes = {"property": lambda text: found.update({names[-1]: text.strip().removesuffix(".0")})}
        self.walk("docProps/custom.xml", opens, closes)
        return found

    def comments(self, sheet: str) -> list[tuple[str, str]]:
        """Return address and text of every note pinned to a cell of a sheet."""
        found, at = list[tuple[str, str]](), [""]
        opens = {"comment": lambda attributes: at.append(attributes.get("ref", ""))}
        for part in self.targets(sheet).values():
            if "comment" in part.lower():
                self.walk(part, opens, {"comment": lambda _: found.append((at[-1], self.text()))})
        return found

    def filled(self) -> FilledCells:
        """Return all that is in the workbook."""
        owner = next((t for t in self.targets("").values() if t.endswith("workbook.xml")), "xl/workbook.xml")
        if owner not in self.package.names:
            raise self.package.refusal("is no workbook: it may be a document of another kind")
        targets, links = self.targets(owner), dict[str, str]()

        def sheet(attributes: Mapping[str, str]) -> None:
            links[attributes["name"]] = next((v for k, v in attributes.items() if k.endswith(":id")), "")

        self.package.walk(owner, {"sheet": sheet}, {})
        strings = posixpath.join(posixpath.dirname(owner), "sharedStrings.xml")
        self.walk(strings, {}, {"si": lambda _: self.shared.append(self.text())})
        sheets = {title: _Sheet(self, title).read(targets[link]) for title, link in links.items()}
        once = {targets[link]: title for title, link in links.items()}
        pinned = {f"{title} {at}": text for part, title in once.items() for at, text in self.comments(part)}
        pictures = sum("/media/" in name for name in self.package.names)
        return FilledCells(self.package.path, sheets, self.properties(), pinned, pictures)


class _Sheet:
    """Reads one sheet, cell by cell."""

    def __init__(self, reader: _PackageReader, title: str) -> None:
        self.reader, self.title = reader, title
        self.cells: dict[Place, Cell] = {}
        self.row = self.column = 0
        self.kind, self.is_formula = "n", False

    def read(self, part: str) -> dict[Place, Cell]:
        closes = {"v": self.reader.run, "f": self.formula, "c": self.end}
        try:
            self.reader.walk(part, {"row": self.next_row, "c": self.start}, closes)
        except ValueError as error:
            raise ValueError(f"{self.title}, row {self.row}: {error}") from None
        return self.cells

    def next_row(self, attributes: Mapping[str, str]) -> None:
        self.row, self.column = int(attributes.get("r", self.row + 1)), 0

    def start(self, attributes: Mapping[str, str]) -> None:
        self.column += 1
        if address := attributes.get("r"):
            found = _ADDRESS.fullmatch(address)
            self.row, self.column = (int(found[2]), _column(found[1])) if found else (0, 0)
        if not (0 < self.row <= LAST_ROW and 0 < self.column <= LAST_COLUMN):
            raise self.reader.package.refusal(f"has a cell outside of the sheet {self.title}")
        self.kind, self.is_formula = attributes.get("t", "n"), False
        self.reader.runs.clear()

    def formula(self, _: str) -> None:
        self.is_formula = True

    def end(self, _: str) -> None:
        value = self.value() if self.reader.runs else None
        if value is not None or self.is_formula:
            self.reader.cells += 1
            self.cells[self.row, self.column] = Cell(value, self.kind == "e", self.is_formula)
        if self.reader.cells > MOST_CELLS:
            raise self.reader.package.refusal(f"has over {MOST_CELLS:,} filled cells")

    def value(self) -> Value:
        """Return what a cell of this kind holds."""
        text = self.reader.text()
        if self.kind in {"str", "inlineStr", "e", "d"}:
            return text
        if not text:
            return None
        if self.kind == "s":
            return self.reader.shared[int(text)]
        return text.strip() in {"1", "true"} if self.kind == "b" else as_typed(text)


def cells_of(path: Path) -> FilledCells:
    """Return what the cells of the workbook at `path` hold, once it is known to be harmless.

    Raises:
        InputError: no such file, no workbook or a damaged one, too large or too deep, locked, with macros,
            links to other files or entities.
    """
    try:
        return _PackageReader(Package(path)).filled()
    except _DAMAGE as error:
        what = f"is no workbook, or a damaged one ({error})"
        raise InputError([Problem(path.name, what, ASK, file=str(path))]) from error
