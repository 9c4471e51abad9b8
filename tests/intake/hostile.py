"""Workbooks that somebody made to do harm, each small on the disk."""

import io
import struct
import zipfile
from collections.abc import Callable, Iterable
from pathlib import Path

HEAD = b'<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>'
FOOT = b"</sheetData></worksheet>"
BOOK = (
    b'<workbook xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"><sheets>'
    b'<sheet name="One" sheetId="1" r:id="r1"/></sheets></workbook>'
)
LINKS = b'<Relationships><Relationship Id="r1" Target="worksheets/sheet1.xml"/></Relationships>'


def packed(parts: Iterable[tuple[str, bytes]]) -> bytes:
    """Return a workbook of a single sheet with those parts."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as file:
        for name, body in (("xl/workbook.xml", BOOK), ("xl/_rels/workbook.xml.rels", LINKS), *parts):
            file.writestr(name, body)
    return out.getvalue()


def sheet(body: bytes) -> bytes:
    """Return a workbook whose only sheet has these rows."""
    return packed([("xl/worksheets/sheet1.xml", HEAD + body + FOOT)])


def strings(body: bytes) -> bytes:
    """Return a workbook with these shared strings."""
    return packed([("xl/worksheets/sheet1.xml", HEAD + FOOT), ("xl/sharedStrings.xml", body)])


def understated() -> bytes:
    """Return a workbook that claims 100 bytes for a sheet of 218 MB, in its directory and before the part."""
    body = b"<row><c><v>1</v></c></row>" * 2**20
    raw = bytearray(sheet(body * 8))
    with zipfile.ZipFile(io.BytesIO(bytes(raw))) as file:
        info = file.getinfo("xl/worksheets/sheet1.xml")
        size = struct.pack("<L", info.file_size)
    at = raw.find(size, info.header_offset)
    while at >= 0:
        raw[at : at + 4] = struct.pack("<L", 100)
        at = raw.find(size, at + 1)
    return bytes(raw)


def overlapping() -> bytes:
    """Return a workbook of 900 sheets that all are the same 8 MB."""
    many = b"".join(b'<sheet name="%d" r:id="r1"/>' % n for n in range(900))
    book = BOOK.replace(b'<sheet name="One" sheetId="1" r:id="r1"/>', many)
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as file:
        file.writestr("xl/workbook.xml", book)
        file.writestr("xl/_rels/workbook.xml.rels", LINKS)
        file.writestr("xl/worksheets/sheet1.xml", HEAD + b"<row><c><v>1</v></c></row>" * 300_000 + FOOT)
    return out.getvalue()


def cells(number: int, cell: bytes, per_row: int = 100) -> bytes:
    return sheet((b"<row>" + cell * per_row + b"</row>") * (number // per_row))


def entries() -> bytes:
    """Return a package that is nothing but a directory of empty parts."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as file:
        for number in range(50_000):
            file.writestr(str(number), b"")
    return out.getvalue()


HOSTILE: dict[str, Callable[[], bytes]] = {
    "claims 100 bytes": understated,
    "row 99999999999": lambda: sheet(b'<row r="99999999999"><c r="A99999999999"><v>1</v></c></row>'),
    "row 1048577": lambda: sheet(b'<row r="1048577"><c r="A1048577"><v>1</v></c></row>'),
    "column XFE": lambda: sheet(b'<row r="1"><c r="XFE1"><v>1</v></c></row>'),
    "nested": lambda: sheet(b"<a>" * 8_000_000),
    "nested a little": lambda: sheet(b"<a>" * 33 + b"</a>" * 33),
    "many elements": lambda: sheet(b"<a/>" * 8_000_000),
    "many cells": lambda: cells(2_000_000, b"<c/>"),
    "many filled cells": lambda: cells(1_500_000, b"<c><v>1</v></c>"),
    "as many cells as are read": lambda: cells(180_000, b"<c><v>1.25</v></c>"),
    "as many written cells as are read": lambda: cells(
        180_000, b'<c t="inlineStr"><is><t>\xf0\x9f\x98\x80 a name</t></is></c>'
    ),
    "many rows": lambda: sheet(b"<row/>" * 1_100_000),
    "many strings": lambda: strings(b"<sst>" + b"<si/>" * 6_000_000 + b"</sst>"),
    "texts": lambda: strings(
        b"<sst>" + (b"<si><t>\xf0\x9f\x98\x80" + b"x" * 32_000 + b"</t></si>") * 1000 + b"</sst>"
    ),
    "one text": lambda: strings(b"<sst><si><t>" + b"x" * 30_000_000 + b"</t></si></sst>"),
    "one wide text": lambda: strings(
        b"<sst><si><t>" + (b"\xf0\x9f\x98\x80" + b"x" * 60_000) * 500 + b"</t></si></sst>"
    ),
    "one text in wide pieces": lambda: strings(
        b"<sst><si>" + (b"<r><t>\xf0\x9f\x98\x80" + b"x" * 30_000 + b"</t></r>") * 1000 + b"</si></sst>"
    ),
    "wide pieces outside of cells": lambda: sheet(
        b"<row>" + (b"<t>\xf0\x9f\x98\x80" + b"x" * 30_000 + b"</t>") * 1000 + b"</row>"
    ),
    "one comment": lambda: strings(b"<sst><!--" + b"x" * 30_000_000 + b"--></sst>"),
    "one attribute": lambda: strings(b'<sst a="' + b"x" * 30_000_000 + b'"></sst>'),
    "many attributes": lambda: strings(
        b"<sst " + b" ".join(b'a%d=""' % n for n in range(2_500_000)) + b"></sst>"
    ),
    "many names": lambda: strings(b"<sst>" + b"".join(b"<a%d/>" % n for n in range(900_000)) + b"</sst>"),
    "many attribute names": lambda: strings(
        b"<sst>" + b"".join(b'<a b%d=""/>' % n for n in range(900_000)) + b"</sst>"
    ),
    "a number of many digits": lambda: cells(100, b"<c><v>" + b"7" * 250_000 + b"</v></c>", 1),
    "a huge exponent": lambda: sheet(b"<row><c><v>1E999999999</v></c></row>"),
    "the same part 900 times": overlapping,
    "many parts": entries,
    "random bytes as a sheet": lambda: packed([("xl/worksheets/sheet1.xml", bytes(range(256)) * 70_000)]),
}


def write(folder: Path) -> list[Path]:
    """Write every one of them in `folder`, and return where."""
    paths = []
    for name, made in HOSTILE.items():
        paths.append(folder / f"{name}.xlsx")
        paths[-1].write_bytes(made())
    return paths
