"""The cells of a workbook's sheets, read from its parts: value, kind, and whether a formula stands there.

Source: ISO/IEC 29500-1, 18.3.1.4 (c), 18.4.8 (si), 18.2.19 (sheet), 18.18.11 (cell types).
"""

import io
import posixpath
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from xml.etree.ElementTree import Element, ParseError

from defusedxml.common import DefusedXmlException
from defusedxml.ElementTree import fromstring, iterparse
from openpyxl.utils.cell import coordinate_to_tuple
from openpyxl.utils.escape import unescape

from estimator.core.errors import InputError, Problem
from estimator.workbook.package import ASK

MOST_CELLS = 1_000_000
Place = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Cell:
    """What a cell holds.

    Attributes:
        value: number, text (also an error's, such as ``#REF!``), truth, or None.
        is_error: whether the cell shows an error.
        is_formula: whether the value is a formula's last result.
    """

    value: Decimal | str | bool | None
    is_error: bool = False
    is_formula: bool = False


def _local(element: Element) -> str:
    return element.tag.rpartition("}")[2]


def _children(element: Element, name: str) -> Iterator[Element]:
    return (e for e in element if _local(e) == name)


def _text(element: Element) -> str:
    """Return the text of a string item, its runs joined, readings left out."""
    plain = "".join(t.text or "" for t in _children(element, "t"))
    runs = "".join(t.text or "" for r in _children(element, "r") for t in _children(r, "t"))
    return unescape(plain + runs)


def _value(kind: str, text: str | None, shared: list[str]) -> Decimal | str | bool | None:
    if text is None or (text == "" and kind != "str"):
        return None
    if kind == "s":
        return shared[int(text)]
    if kind == "b":
        return text.strip() in {"1", "true"}
    if kind in {"str", "e", "d"}:
        return unescape(text)
    return Decimal(text)


def _cell(element: Element, shared: list[str]) -> Cell:
    kind = element.get("t", "n")
    formula = any(True for _ in _children(element, "f"))
    if kind == "inlineStr":
        return Cell(next((_text(e) for e in _children(element, "is")), None), is_formula=formula)
    text = next((e.text or "" for e in _children(element, "v")), None)
    return Cell(_value(kind, text, shared), kind == "e", formula)


def _sheet(body: bytes, shared: list[str]) -> dict[Place, Cell]:
    cells: dict[Place, Cell] = {}
    row = column = 0
    for event, element in iterparse(io.BytesIO(body), events=("start", "end"), forbid_dtd=True):
        name = _local(element)
        if event == "start":
            if name == "row":
                row, column = int(element.get("r", row + 1)), 0
            continue
        if name == "c":
            address = element.get("r")
            row, column = coordinate_to_tuple(address) if address else (row, column + 1)
            cell = _cell(element, shared)
            if cell.value is not None or cell.is_formula:
                cells[row, column] = cell
            if len(cells) > MOST_CELLS:
                raise InputError([Problem("workbook", f"has over {MOST_CELLS:,} cells in a sheet", ASK)])
        elif name == "row":
            element.clear()
    return cells


def _targets(parts: Mapping[str, bytes], owner: str) -> dict[str, str]:
    folder, name = posixpath.split(owner)
    body = parts.get(posixpath.join(folder, "_rels", f"{name}.rels"))
    found = {} if body is None else {e.get("Id", ""): e.get("Target", "") for e in fromstring(body)}
    return {
        k: t[1:] if t.startswith("/") else posixpath.normpath(posixpath.join(folder, t))
        for k, t in found.items()
    }


def _book(parts: Mapping[str, bytes]) -> str:
    root = _targets(parts, "")
    return next((t for t in root.values() if t.endswith("workbook.xml")), "xl/workbook.xml")


def _read(parts: Mapping[str, bytes]) -> dict[str, dict[Place, Cell]]:
    owner = _book(parts)
    targets = _targets(parts, owner)
    strings = parts.get(posixpath.join(posixpath.dirname(owner), "sharedStrings.xml"))
    shared = [] if strings is None else [_text(e) for e in fromstring(strings, forbid_dtd=True)]
    found = {}
    for sheet in (e for e in fromstring(parts[owner], forbid_dtd=True).iter() if _local(e) == "sheet"):
        link = next(v for k, v in sheet.attrib.items() if k.endswith("}id"))
        found[sheet.get("name", "")] = _sheet(parts[targets[link]], shared)
    return found


def sheets_of(parts: Mapping[str, bytes]) -> dict[str, dict[Place, Cell]]:
    """Return the filled cells of every sheet, by title, then by (row, column) from 1.

    Args:
        parts: the workbook's parts, as `estimator.workbook.package.parts_of` returns them.

    Raises:
        InputError: parts that cannot be read as a workbook.
    """
    broken = (
        ParseError,
        DefusedXmlException,
        KeyError,
        IndexError,
        ValueError,
        InvalidOperation,
        StopIteration,
    )
    try:
        return _read(parts)
    except broken as error:
        what = f"cannot be read: {type(error).__name__} {error}"
        raise InputError([Problem("workbook", what, "Open it, save it as .xlsx, and try again.")]) from error


def properties_of(parts: Mapping[str, bytes]) -> dict[str, str]:
    """Return the custom properties as text; programs may turn whole numbers into ``1.0``."""
    body = parts.get("docProps/custom.xml")
    if body is None:
        return {}
    found = fromstring(body, forbid_dtd=True)
    return {e.get("name", ""): "".join(e.itertext()).removesuffix(".0") for e in found}
