"""The file written: same bytes twice, text kept as text, results beside formulas, inputs open and guarded."""

import io
import re
import zipfile
from decimal import Decimal as D
from pathlib import Path

import openpyxl
import pytest
from openpyxl.utils.escape import unescape

from estimator.calc.expressions import call
from estimator.calc.tables import Book, Draft, Sheet
from estimator.core.errors import InputError, OutputError
from estimator.core.files import save
from estimator.workbook.build import workbook_bytes
from tests.workbook.books import HOSTILE, everything

JOB = {"job_id": "DEMO-1", "title": "An invented & small room", "date": "2026-11-25"}


def opened(book: Book, *, values: bool = False) -> openpyxl.Workbook:
    return openpyxl.load_workbook(io.BytesIO(workbook_bytes(book, JOB, "a4")), data_only=values)


def one_text(text: str) -> Book:
    draft = Draft("texts", "Texts")
    draft.keys(["a"])
    draft.label("text", "Text", [text])
    return Book((Sheet("Texts", "control", "Texts.", (draft.table(),)),))


def test_the_same_book_gives_the_same_bytes() -> None:
    assert workbook_bytes(everything(), JOB, "a4") == workbook_bytes(everything(), JOB, "a4")


def test_parts_have_relative_targets_and_no_date_of_today() -> None:
    with zipfile.ZipFile(io.BytesIO(workbook_bytes(everything(), JOB, "a4"))) as file:
        for info in file.infolist():
            assert info.date_time == (1980, 1, 1, 0, 0, 0)
            if info.filename.endswith(".rels"):
                assert b'Target="/' not in file.read(info)
        core = file.read("docProps/core.xml").decode()
    assert re.findall(r"\d{4}-\d\d-\d\dT[\d:]+Z", core) == ["2026-11-25T00:00:00Z"] * 2


def test_hostile_text_stays_text() -> None:
    sheet = opened(everything())["Checks & texts"]
    found = [unescape(str(c.value)) for c in sheet["B"] if c.data_type in {"s", "inlineStr"}]
    for text in HOSTILE:
        assert text in found
    assert not any(c.data_type == "e" for row in sheet for c in row)


@pytest.mark.parametrize("bad", ["\x00", "\x1b", "\r", "\ufffe", "\uffff", "\ud800"])
def test_characters_that_make_a_file_unreadable_are_refused(bad: str) -> None:
    with pytest.raises(InputError, match=r"texts\.text\.a"):
        workbook_bytes(one_text(f"a{bad}b"), JOB, "a4")


def test_text_longer_than_a_cell_is_refused_not_cut() -> None:
    workbook_bytes(one_text("x" * 32_767), JOB, "a4")
    with pytest.raises(InputError, match="32,768"):
        workbook_bytes(one_text("x" * 32_768), JOB, "a4")
    with pytest.raises(InputError, match="32,767"):
        workbook_bytes(one_text("x" * 32_766 + "🪵"), JOB, "a4")


@pytest.mark.parametrize("number", ["NaN", "Infinity"])
def test_numbers_that_would_become_blanks_are_refused(number: str) -> None:
    draft = Draft("form", "Form", "across")
    draft.input("size", "Size", "in", [D(number)])
    with pytest.raises(InputError, match=r"form\.size"):
        workbook_bytes(Book((Sheet("Form", "inputs", "", (draft.table(),)),)), JOB, "a4")


@pytest.mark.parametrize("title", ["x" * 32, "a/b", "a:b", "'a", "", "contents"])
def test_titles_no_sheet_can_have_are_refused(title: str) -> None:
    draft = Draft("form", "Form", "across")
    draft.input("size", "Size", "in", [D(1)])
    with pytest.raises(InputError):
        workbook_bytes(Book((Sheet(title, "inputs", "", (draft.table(),)),)), JOB, "a4")


@pytest.mark.parametrize("key", ["tax1", "r", "C", "r1c1", "true", "a b", "XFD9"])
def test_names_that_read_as_cells_are_refused(key: str) -> None:
    draft = Draft("form", "Form", "across")
    draft.input(key, "Size", "in", [D(1)])
    with pytest.raises(InputError, match="name"):
        workbook_bytes(Book((Sheet("Form", "inputs", "", (draft.table(),)),)), JOB, "a4")


@pytest.mark.parametrize("keys", [["a", "A"], ["a*"], ["<a"]])
def test_keys_that_look_ups_confuse_are_refused(keys: list[str]) -> None:
    draft = Draft("rows", "Rows")
    draft.keys(keys)
    with pytest.raises(InputError):
        workbook_bytes(Book((Sheet("Rows", "inputs", "", (draft.table(),)),)), JOB, "a4")


def test_every_formula_carries_its_result() -> None:
    formulas, values = opened(everything()), opened(everything(), values=True)
    count = 0
    for sheet in formulas:
        for row in sheet.iter_rows():
            for cell in row:
                if cell.data_type == "f":
                    assert values[sheet.title][cell.coordinate].value is not None
                    count += 1
    assert count > 50
    price = values["Price"]
    assert (price["D8"].value, price["D11"].value) == (69.77, 97.58)


def test_a_truth_and_a_blank_look_up_have_their_types() -> None:
    draft = Draft("form", "Form", "across")
    size = draft.input("size", "Size", "in", [D(1)])
    draft.formula("large", "Large", "", call("AND", size.gt(0), size.lt(2)))
    draft.formula("words", "Words", "", call("IF", size.gt(0), "<a> & b", "c"))
    values = opened(Book((Sheet("Form", "inputs", "", (draft.table(),)),)), values=True)["Form"]
    assert values["D9"].value is True
    assert values["D10"].value == "<a> & b"


def test_only_inputs_are_unlocked_and_each_is_guarded() -> None:
    book = opened(everything())
    for sheet in book:
        assert sheet.protection.sheet
        assert sheet.protection.password is None
        assert sheet.protection.sort
        guarded = {c for rule in sheet.data_validations.dataValidation for c in _cells(str(rule.sqref))}
        open_cells = {c.coordinate for row in sheet.iter_rows() for c in row if not c.protection.locked}
        assert open_cells == guarded
    assert not book["Client terms"]["D8"].protection.locked
    assert book["Client terms"]["C26"].value is None
    assert book["Client terms"]["B26"].protection.locked
    assert not book["Client terms"]["C26"].protection.locked


def _cells(area: str) -> list[str]:
    sheet = openpyxl.Workbook().active
    assert sheet is not None
    found = sheet[area]
    rows = found if isinstance(found, tuple) else ((found,),)
    return [c.coordinate for row in rows for c in row]


def test_messages_of_a_guard_are_plain() -> None:
    rules = opened(everything())["Client terms"].data_validations.dataValidation
    waste = rules[0]
    assert (waste.formula1, waste.formula2) == ("0", "0.5")
    assert waste.error == "Allowed here: Waste on sticks: 0 to 50 %."
    assert waste.prompt == "Allowed: 0 to 50 %. Source: invented for the demonstration."


def test_properties_and_print_set_up() -> None:
    book = opened(everything())
    found = {p.name: p.value for p in book.custom_doc_props.props}  # type: ignore[attr-defined]
    assert found["schema"] == "2"
    assert found["job_id"] == "DEMO-1"
    assert book.calculation.fullCalcOnLoad
    sheet = book["Frames"]
    assert (sheet.page_setup.paperSize, sheet.page_setup.orientation) == (9, "portrait")
    assert (sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight) == (1, 1)
    assert sheet.print_title_rows is None
    longer = opened(everything(count=90))["Frames"]
    assert (longer.page_setup.fitToHeight, longer.print_title_rows) == (None, "$5:$6")
    assert sheet.freeze_panes == "C8"
    assert sheet.HeaderFooter.oddHeader is not None
    assert sheet.HeaderFooter.oddHeader.left.text == "An invented && small room"
    letter = openpyxl.load_workbook(io.BytesIO(workbook_bytes(everything(), JOB, "letter")))
    assert letter["Frames"].page_setup.paperSize == 1


def test_writing_is_whole_or_not_at_all(tmp_path: Path) -> None:
    target = tmp_path / "job.xlsx"
    with pytest.raises(InputError):
        save(target, workbook_bytes(one_text("\x00"), JOB, "a4"))
    assert list(tmp_path.iterdir()) == []
    save(target, workbook_bytes(one_text("fine"), JOB, "a4"))
    assert [p.name for p in tmp_path.iterdir()] == ["job.xlsx"]
    with pytest.raises(OutputError, match="nowhere"):
        save(tmp_path / "nowhere" / "job.xlsx", workbook_bytes(one_text("fine"), JOB, "a4"))
