"""A workbook from outside is looked through before it is read: size, parts, macros, links, entities."""

import io
import time
import tracemalloc
import zipfile
from functools import cache
from pathlib import Path

import pytest

from estimator.core.errors import InputError
from estimator.workbook.build import workbook_bytes
from estimator.workbook.cells import sheets_of
from estimator.workbook.package import parts_of
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
    sheets = sheets_of(parts_of(tmp_path / "a.xlsx"))
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
        parts_of(with_part(tmp_path / "a.xlsx", name, body))


def test_a_bomb_is_refused_at_once(tmp_path: Path) -> None:
    row = b"<row>" + b"<c><v>1</v></c>" * 1000 + b"</row>"
    path = with_part(tmp_path / "a.xlsx", "xl/worksheets/sheet3.xml", b"<worksheet>" + row * 6000)
    assert path.stat().st_size < 1_000_000
    tracemalloc.start()
    begun = time.process_time()
    with pytest.raises(InputError, match=r"unpacks to \d+ MB"):
        parts_of(path)
    assert time.process_time() - begun < 0.5
    assert tracemalloc.get_traced_memory()[1] < 20_000_000
    tracemalloc.stop()


def test_many_parts_are_refused(tmp_path: Path) -> None:
    with zipfile.ZipFile(tmp_path / "a.xlsx", "w") as file:
        for number in range(1001):
            file.writestr(f"{number}.xml", "<a/>")
    with pytest.raises(InputError, match="has 1,001 parts"):
        parts_of(tmp_path / "a.xlsx")


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
        parts_of(tmp_path / "a.xlsx")


@pytest.mark.parametrize("share", [0.2, 0.5, 0.9, 0.999])
def test_a_file_cut_short_is_refused(tmp_path: Path, share: float) -> None:
    (tmp_path / "a.xlsx").write_bytes(delivered()[: int(len(delivered()) * share)])
    with pytest.raises(InputError, match="is no workbook"):
        parts_of(tmp_path / "a.xlsx")


def test_a_flipped_byte_is_refused_or_does_no_harm(tmp_path: Path) -> None:
    """Most bytes are under a check sum; a few, such as dates in the directory, mean nothing here."""
    refused = 0
    for place in range(0, len(delivered()), len(delivered()) // 97):
        raw = bytearray(delivered())
        raw[place] ^= 0xFF
        (tmp_path / "a.xlsx").write_bytes(bytes(raw))
        try:
            sheets_of(parts_of(tmp_path / "a.xlsx"))
        except InputError:
            refused += 1
    assert refused > 80


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
    with pytest.raises(InputError, match="cannot be read"):
        sheets_of(parts_of(path))


def test_cells_of_every_kind_are_read(tmp_path: Path) -> None:
    """Cell types as in ISO/IEC 29500-1, 18.18.11; a cell without an address follows the one before."""
    body = (
        b"<worksheet><sheetData><row><c><v>1.50</v></c><c t='b'><v>1</v></c><c t='e'><v>#N/A</v></c>"
        b"<c t='inlineStr'><is><r><t>a</t></r><r><t>_x0041_b</t></r><rPh><t>no</t></rPh></is></c>"
        b"<c t='str'><f>A1</f><v></v></c><c><f>A1</f></c><c/></row></sheetData></worksheet>"
    )
    path = with_part(tmp_path / "a.xlsx", "xl/worksheets/sheet3.xml", body)
    cells = sheets_of(parts_of(path))["Client terms"]
    assert [str(cells[1, c].value) for c in range(1, 7)] == ["1.50", "True", "#N/A", "aAb", "", "None"]
    assert [cells[1, c].is_formula for c in (4, 5, 6)] == [False, True, True]
    assert cells[1, 3].is_error
    assert (1, 7) not in cells
