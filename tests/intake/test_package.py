"""A workbook from outside is looked through before it is read: size, parts, macros, links, entities."""

import io
import json
import subprocess
import sys
import zipfile
from functools import cache
from pathlib import Path

import pytest

from estimator.core.errors import InputError
from estimator.intake.cells import FilledCells, cells_of
from estimator.workbook.build import workbook_bytes
from tests.intake.hostile import HOSTILE, packed, sheet
from tests.workbook.books import everything


@cache
def delivered() -> bytes:
    return workbook_bytes(everything(), {"job_id": "14"}, "a4")


def with_part(path: Path, name: str, body: bytes) -> Path:
    with (
        zipfile.ZipFile(io.BytesIO(delivered())) as file,
        zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as out,
    ):
        for old in file.namelist():
            if old != name:
                out.writestr(old, file.read(old))
        out.writestr(name, body)
    return path


def test_a_sound_workbook_opens(tmp_path: Path) -> None:
    (tmp_path / "a.xlsx").write_bytes(delivered())
    sheets = cells_of(tmp_path / "a.xlsx").sheets
    assert list(sheets)[:3] == ["About", "Contents", "Client terms"]
    assert sheets["Client terms"][8, 1].value == "waste"


@pytest.mark.parametrize(
    ("name", "body", "said"),
    [
        ("xl/vbaProject.bin", b"x", "holds macros"),
        ("xl/macrosheets/sheet1.xml", b"<a/>", "holds macros"),
        ("[Content_Types].xml", b"<Types>sheet.macroEnabled.main+xml</Types>", "holds macros"),
        ("xl/externalLinks/externalLink1.xml", b"<a/>", "holds links to other files"),
        ("xl/sharedStrings.xml", b'<!DOCTYPE x [<!ENTITY a "b">]><sst/>', "declares entities"),
        (
            "xl/sharedStrings.xml",
            "<?xml version='1.0' encoding='utf-16'?><sst/>".encode("utf-16"),
            "other than UTF-8",
        ),
        ("xl/sharedStrings.xml", b"<?xml version='1.0' encoding='latin-1'?><sst/>", "other than UTF-8"),
    ],
)
def test_harmful_parts_are_refused_by_name(tmp_path: Path, name: str, body: bytes, said: str) -> None:
    with pytest.raises(InputError, match=said):
        cells_of(with_part(tmp_path / "a.xlsx", name, body))


MEASURED = """
import json, sys, time
from pathlib import Path
from estimator.core.errors import InputError
from estimator.intake.cells import cells_of
try:
    sheets = cells_of(Path(sys.argv[1])).sheets
    said = f"{sum(map(len, sheets.values())):,} cells"
except InputError as error:
    said = error.problems[0].what
peak = next(line for line in Path("/proc/self/status").read_text().splitlines() if line.startswith("VmHWM"))
print(json.dumps([said, int(peak.split()[1]) / 1024, time.process_time()]))
"""
SAID = {
    "claims 100 bytes": "is no workbook, or a damaged one (Bad CRC-32",
    "row 99999999999": "a cell outside of the sheet One",
    "row 1048577": "a cell outside of the sheet One",
    "column XFE": "a cell outside of the sheet One",
    "nested": "elements over 32 deep",
    "nested a little": "elements over 32 deep",
    "many elements": "over 800,000 elements",
    "many cells": "over 800,000 elements",
    "many filled cells": "over 180,000 filled cells",
    "as many cells as are read": "180,000 cells",
    "as many written cells as are read": "180,000 cells",
    "many rows": "over 800,000 elements",
    "many strings": "over 800,000 elements",
    "texts": "more text",
    "one text": "tags or texts in xl/sharedStrings.xml",
    "one wide text": "tags or texts in xl/sharedStrings.xml",
    "one text in wide pieces": "more text",
    "wide pieces outside of cells": "more text",
    "one comment": "tags or texts in xl/sharedStrings.xml",
    "one attribute": "tags or texts in xl/sharedStrings.xml",
    "many attributes": "tags or texts in xl/sharedStrings.xml",
    "many names": "tags or texts in xl/sharedStrings.xml",
    "many attribute names": "tags or texts in xl/sharedStrings.xml",
    "a number of many digits": "longer texts",
    "a huge exponent": "One, row 1: '1E999999999' is no number",
    "the same part 900 times": "over 180,000 filled cells",
    "many parts": "over 1,000 parts",
    "random bytes as a sheet": "is no workbook, or a damaged one",
}


def measured(path: Path) -> tuple[str, float, float]:
    """Return what a program of its own says of a file, its most memory in MB, and its processor time, s."""
    command = [sys.executable, "-c", MEASURED, str(path)]
    said, megabytes, seconds = json.loads(subprocess.run(command, capture_output=True, check=True).stdout)
    return said, megabytes, seconds


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="the peak of memory is read from /proc")
@pytest.mark.parametrize("name", HOSTILE)
def test_any_file_is_read_or_refused_in_200_mb(tmp_path: Path, name: str) -> None:
    """How long it takes is held by `tests.benchmarks.floors`."""
    path = tmp_path / "a.xlsx"
    path.write_bytes(HOSTILE[name]())
    assert path.stat().st_size < 20_000_000
    said, megabytes, _ = measured(path)
    assert SAID[name] in said
    assert megabytes < 200


def test_a_larger_file_is_not_looked_at(tmp_path: Path) -> None:
    path = tmp_path / "a.xlsx"
    with path.open("wb") as file:
        file.truncate(20_000_000 + 1)
    with pytest.raises(InputError, match="the file is over 20 MB"):
        cells_of(path)


def test_a_part_packed_in_another_way_is_refused(tmp_path: Path) -> None:
    """OPC knows stored and deflated; other ways cannot be unpacked a little at a time."""
    with zipfile.ZipFile(tmp_path / "a.xlsx", "w", zipfile.ZIP_LZMA) as file:
        file.writestr("xl/workbook.xml", b"<workbook/>")
    with pytest.raises(InputError, match="packed in a way that no spreadsheet program uses"):
        cells_of(tmp_path / "a.xlsx")


def one_sheet(path: Path, body: bytes) -> FilledCells:
    path.write_bytes(sheet(body))
    return cells_of(path)


@pytest.mark.parametrize("end", ["row", "column"])
def test_the_last_row_and_column_are_read(tmp_path: Path, end: str) -> None:
    address = {"row": b"A1048576", "column": b"XFD1"}[end]
    found = one_sheet(tmp_path / "a.xlsx", b'<row><c r="%s"><v>1</v></c></row>' % address)
    assert list(found.sheets["One"]) == [{"row": (1_048_576, 1), "column": (1, 16_384)}[end]]


def test_white_space_round_a_property_is_none_of_it(tmp_path: Path) -> None:
    custom = (
        b"<Properties>\n<property name='job_id'>\n <lpwstr> 2026-014\n</lpwstr>\n</property>\n</Properties>"
    )
    (tmp_path / "a.xlsx").write_bytes(
        packed([("xl/worksheets/sheet1.xml", b"<worksheet/>"), ("docProps/custom.xml", custom)])
    )
    assert cells_of(tmp_path / "a.xlsx").properties == {"job_id": "2026-014"}


def test_many_parts_are_refused(tmp_path: Path) -> None:
    with zipfile.ZipFile(tmp_path / "a.xlsx", "w") as file:
        for number in range(1001):
            file.writestr(f"{number}.xml", "<a/>")
    with pytest.raises(InputError, match="has over 1,000 parts"):
        cells_of(tmp_path / "a.xlsx")


@pytest.mark.parametrize(
    ("body", "said"),
    [
        (b"", "is no workbook"),
        (b"a,b\n1,2\n", "is no workbook"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "old .xls file or locked"),
        (b"PK\x05\x06" + b"\x00" * 18, "is no workbook"),
    ],
)
def test_other_files_are_refused(tmp_path: Path, body: bytes, said: str) -> None:
    (tmp_path / "a.xlsx").write_bytes(body)
    with pytest.raises(InputError, match=said):
        cells_of(tmp_path / "a.xlsx")


@pytest.mark.parametrize("share", [0.2, 0.5, 0.9, 0.999])
def test_a_file_cut_short_is_refused(tmp_path: Path, share: float) -> None:
    (tmp_path / "a.xlsx").write_bytes(delivered()[: int(len(delivered()) * share)])
    with pytest.raises(InputError, match="is no workbook"):
        cells_of(tmp_path / "a.xlsx")


def test_a_flipped_byte_is_refused_or_does_no_harm(tmp_path: Path) -> None:
    """Most bytes that are read are under a check sum; styles and drawings are not read at all."""
    refused = 0
    for place in range(0, len(delivered()), len(delivered()) // 97):
        raw = bytearray(delivered())
        raw[place] ^= 0xFF
        (tmp_path / "a.xlsx").write_bytes(bytes(raw))
        try:
            cells_of(tmp_path / "a.xlsx")
        except InputError:
            refused += 1
    assert refused > 60


@pytest.mark.parametrize(
    "body",
    [
        b"<worksheet><sheetData><row r='1'><c r='A1' t='s'><v>99</v></c></row></sheetData></worksheet>",
        b"<worksheet><sheetData><row r='1'><c r='A1'><v>one</v></c></row></sheetData></worksheet>",
        b"<worksheet><sheetData>",
        b"<worksheet><sheetData><row r='x'></row></sheetData></worksheet>",
    ],
)
def test_broken_sheets_are_refused(tmp_path: Path, body: bytes) -> None:
    path = with_part(tmp_path / "a.xlsx", "xl/worksheets/sheet3.xml", body)
    with pytest.raises(InputError, match="is no workbook, or a damaged one"):
        cells_of(path)


def test_a_sheet_without_a_link_is_refused(tmp_path: Path) -> None:
    path = with_part(tmp_path / "a.xlsx", "xl/workbook.xml", b"<workbook><sheet name='One'/></workbook>")
    with pytest.raises(InputError, match="is no workbook, or a damaged one"):
        cells_of(path)


def test_cells_of_every_kind_are_read(tmp_path: Path) -> None:
    """Cell types as in ISO/IEC 29500-1, 18.18.11; a cell without an address follows the one before."""
    body = (
        b"<worksheet><sheetData><row><c><v>1.50</v></c><c t='b'><v>1</v></c><c t='e'><v>#N/A</v></c>"
        b"<c t='inlineStr'><is><r><t>a</t></r><r><t>_x0041_b</t></r><rPh><t>no</t></rPh></is></c>"
        b"<c t='str'><f>A1</f><v></v></c><c><f>A1</f></c><c/></row></sheetData></worksheet>"
    )
    path = with_part(tmp_path / "a.xlsx", "xl/worksheets/sheet3.xml", body)
    cells = cells_of(path).sheets["Client terms"]
    assert [str(cells[1, c].value) for c in range(1, 7)] == ["1.5", "True", "#N/A", "aAb", "", "None"]
    assert [cells[1, c].is_formula for c in (4, 5, 6)] == [False, True, True]
    assert cells[1, 3].is_error
    assert (1, 7) not in cells
