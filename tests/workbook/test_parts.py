"""The golden workbook, and the comparison that guards it."""

import io
import zipfile
from decimal import Decimal as D

from estimator.workbook.build import workbook_bytes
from tests.workbook.books import everything
from tests.workbook.parts import GOLDEN, difference


def written(waste: str = "0.1") -> bytes:
    return workbook_bytes(everything(waste=D(waste)), {"job_id": "DEMO-1", "date": "2026-11-25"}, "a4")


def test_the_invented_book_is_as_it_was() -> None:
    assert difference(GOLDEN.read_bytes(), written()) == ""


def test_the_first_differing_part_is_shown_as_a_diff() -> None:
    shown = difference(written(), written("0.25"))
    assert shown.startswith("--- old xl/worksheets/sheet3.xml\n+++ new xl/worksheets/sheet3.xml\n")
    assert "-<v>0.1</v></c>" in shown
    assert "+<v>0.25</v></c>" in shown


def test_spelling_of_xml_is_no_difference() -> None:
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(written())) as file, zipfile.ZipFile(out, "w") as respelled:
        for name in file.namelist():
            respelled.writestr(name, file.read(name).replace(b"<selection />", b"<selection></selection>"))
    assert difference(written(), out.getvalue()) == ""


def test_a_missing_part_is_named() -> None:
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(written())) as file, zipfile.ZipFile(out, "w") as fewer:
        for name in file.namelist():
            if name != "xl/theme/theme1.xml":
                fewer.writestr(name, file.read(name))
    assert difference(written(), out.getvalue()) == "parts gone: ['xl/theme/theme1.xml']; parts added: []"
