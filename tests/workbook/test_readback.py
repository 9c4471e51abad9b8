"""Inputs come back by key, whatever the office did to the sheets; what cannot be trusted is refused."""

import datetime as dt
import io
import zipfile
from collections.abc import Callable
from decimal import Decimal as D
from functools import cache
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from openpyxl.worksheet.worksheet import Worksheet

from estimator.core.errors import InputError
from estimator.intake.cells import cells_of
from estimator.office.edits import Edit, changes, inputs_of
from estimator.workbook.build import workbook_bytes
from estimator.workbook.readback import read_inputs, read_workbook, where_to_look
from tests.workbook.books import everything
from tests.workbook.recalculate import resaved

YES = True
Deed = Callable[[openpyxl.Workbook], object]


@cache
def delivered() -> bytes:
    return workbook_bytes(everything(), {"job_id": "14"}, "a4")


def edited(path: Path, *deeds: Deed) -> Path:
    """Write the delivered book to `path` after an office did its deeds in another program."""
    book = openpyxl.load_workbook(io.BytesIO(delivered()))
    for deed in deeds:
        deed(book)
    book.save(path)
    return path


def put(sheet: str, cell: str, value: Any) -> Deed:
    def deed(book: openpyxl.Workbook) -> None:
        book[sheet][cell].value = value

    return deed


def swap(sheet: Worksheet, one: int, other: int) -> None:
    for column in range(1, sheet.max_column + 1):
        a, b = sheet.cell(one, column), sheet.cell(other, column)
        a.value, b.value = b.value, a.value


def upheaval(book: openpyxl.Workbook) -> None:
    """Sort, insert, rename and shuffle, as a spreadsheet program lets anyone do once it is unlocked."""
    frames, terms = book["Frames"], book["Client terms"]
    swap(frames, 8, 12)
    swap(terms, 8, 11)
    frames.insert_rows(9, 2)
    frames.insert_rows(1)
    frames.insert_cols(4)
    frames["D3"] = "A note of mine"
    frames.title = "Walls north and south"
    book.move_sheet("Client terms", -1)
    book.create_sheet("Scratch")["A1"] = "key:nothing"


def test_an_untouched_workbook_brings_back_what_was_written(tmp_path: Path) -> None:
    (tmp_path / "job.xlsx").write_bytes(delivered())
    back = read_workbook(cells_of(tmp_path / "job.xlsx"), everything(), "14")
    assert changes(inputs_of(everything()), back.inputs) == ()
    assert changes(back.issued, back.inputs) == ()
    assert back.inputs["terms.waste"] == D("0.1")
    assert back.inputs["terms.start_day"] == dt.date(2026, 11, 30)
    assert back.inputs["frames.width.N1"] == D(48)
    assert back.inputs["options.depth.deep"] == D(4)
    assert back.inputs["prices.what.spare-1"] is None
    assert back.properties["schema"] == "2"
    assert back.notes == ()


FOUR = (
    put("Client terms", "D8", 0.125), put("Client terms", "D13", "markup"),
    put("Frames", "D9", 50.0625), put("Client terms", "D14", dt.date(2027, 1, 4)),
)  # fmt: skip
THEIRS = {
    Edit("terms.waste", D("0.1"), D("0.125")),
    Edit("terms.basis", "margin", "markup"),
    Edit("frames.width.N2", D("48.125"), D("50.0625")),
    Edit("terms.start_day", dt.date(2026, 11, 30), dt.date(2027, 1, 4)),
}


def test_changes_are_found_after_an_upheaval(tmp_path: Path) -> None:
    plain = read_inputs(cells_of(edited(tmp_path / "a.xlsx", *FOUR)), everything(), "14")
    assert set(changes(inputs_of(everything()), plain)) == THEIRS
    moved = read_inputs(cells_of(edited(tmp_path / "b.xlsx", *FOUR, upheaval)), everything(), "14")
    assert set(changes(inputs_of(everything()), moved)) == THEIRS


@pytest.mark.libreoffice
def test_changes_are_found_after_libreoffice_saved_it(tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    edited(tmp_path / "a.xlsx", *FOUR)
    edited(tmp_path / "b.xlsx", *FOUR, upheaval)
    (tmp_path / "c.xlsx").write_bytes(delivered())
    a, b, c = resaved([tmp_path / f"{n}.xlsx" for n in "abc"], tmp_path / "out")
    assert set(changes(inputs_of(everything()), read_inputs(cells_of(a), everything(), "14"))) == THEIRS
    assert set(changes(inputs_of(everything()), read_inputs(cells_of(b), everything(), "14"))) == THEIRS
    back = read_workbook(cells_of(c), everything(), "14")
    assert changes(back.issued, back.inputs) == ()
    assert back.properties["job_id"] == "14"


def test_a_new_price_row_comes_back(tmp_path: Path) -> None:
    deeds = [put("Client terms", f"{c}26", v) for c, v in (("C", "=Clips_x0041_"), ("D", "bag"), ("E", 4.5))]
    book = edited(tmp_path / "a.xlsx", *deeds, lambda b: setattr(b["Client terms"]["C26"], "data_type", "s"))
    found = changes(inputs_of(everything()), read_inputs(cells_of(book), everything(), "14"))
    assert {(e.key, e.now) for e in found} == {
        ("prices.what.spare-1", "=ClipsA"),
        ("prices.unit.spare-1", "bag"),
        ("prices.price.spare-1", D("4.5")),
    }


def test_what_the_job_changed_since_is_told_from_what_the_office_changed(tmp_path: Path) -> None:
    back = read_workbook(
        cells_of(edited(tmp_path / "a.xlsx", *FOUR[:1])), everything(first_width=D(60)), "14"
    )
    assert changes(back.issued, back.inputs) == (Edit("terms.waste", D("0.1"), D("0.125")),)


def test_a_frame_that_left_the_job_does_not_stop_the_rest(tmp_path: Path) -> None:
    back = read_workbook(cells_of(edited(tmp_path / "a.xlsx", *FOUR[:1])), everything(count=3), "14")
    assert [e.key for e in changes(back.issued, back.inputs)] == ["terms.waste"]
    assert back.inputs["frames.width.N5"] == D("48.5")


def drop_row(book: openpyxl.Workbook) -> None:
    book["Frames"].delete_rows(9)


def drop_column(book: openpyxl.Workbook) -> None:
    book["Frames"].delete_cols(4)


def double_row(book: openpyxl.Workbook) -> None:
    sheet = book["Frames"]
    for column in range(1, 6):
        sheet.cell(14, column).value = sheet.cell(9, column).value


def error_cell(book: openpyxl.Workbook) -> None:
    book["Frames"]["D8"].value = "#REF!"
    book["Frames"]["D8"].data_type = "e"


@pytest.mark.parametrize(
    ("deed", "said"),
    [
        (drop_row, r"frames\.width\.N2; frames\.height\.N2: is no longer in the workbook"),
        (drop_column, r"frames\.width\.N1; .*N3 and 2 more: is no longer in the workbook"),
        (double_row, r"frames\.width\.N2: stands more than once: Frames, row 9; Frames, row 14"),
        (error_cell, r"Frames, row 8: Width \(frames\.width\.N1\): shows the error #REF!"),
        (put("Frames", "D8", "wide"), r"holds 'wide', which is no number"),
        (put("Frames", "D8", None), r"row 8: Width \(frames\.width\.N1\): is empty"),
        (put("Frames", "D8", 3), r"is 3, outside what is allowed\. Allowed: 4 to 120 in"),
        (put("Frames", "D8", 1200), r"outside what is allowed"),
        (put("Frames", "D8", YES), r"holds True, which is no number"),
        (put("Frames", "D8", "=2*30"), r"holds a formula without a result"),
        (put("Client terms", "D12", 2.5), r"is 2\.5, outside what is allowed"),
        (put("Client terms", "D13", "both"), r"Allowed: margin or markup"),
        (put("Client terms", "D14", "Monday"), r"holds 'Monday', which is no date"),
        (put("Client terms", "D14", dt.date(2025, 1, 1)), r"Allowed: 1 Jan 2026 or later"),
        (lambda b: b.remove(b["As issued"]), r"the sheet with the inputs as issued is gone"),
    ],
)
def test_what_cannot_be_trusted_is_refused_by_name(tmp_path: Path, deed: Deed, said: str) -> None:
    with pytest.raises(InputError, match=said):
        read_inputs(cells_of(edited(tmp_path / "a.xlsx", deed)), everything(), "14")


def test_every_fault_is_said_at_once(tmp_path: Path) -> None:
    path = edited(
        tmp_path / "a.xlsx", error_cell, put("Client terms", "D8", 2), put("Client terms", "D13", "x")
    )
    with pytest.raises(InputError) as refused:
        read_inputs(cells_of(path), everything(), "14")
    assert len(refused.value.problems) == 3


def test_another_jobs_workbook_is_refused(tmp_path: Path) -> None:
    (tmp_path / "a.xlsx").write_bytes(delivered())
    with pytest.raises(InputError, match="is the workbook of job 14, not of 15"):
        read_inputs(cells_of(tmp_path / "a.xlsx"), everything(), "15")
    openpyxl.Workbook().save(tmp_path / "b.xlsx")
    with pytest.raises(InputError, match="was not written by battenbook"):
        read_inputs(cells_of(tmp_path / "b.xlsx"), everything(), "14")


def test_a_formula_with_a_result_counts_as_its_result(tmp_path: Path) -> None:
    out = tmp_path / "a.xlsx"
    with zipfile.ZipFile(io.BytesIO(delivered())) as file, zipfile.ZipFile(out, "w") as changed:
        for name in file.namelist():
            body = file.read(name).decode()
            changed.writestr(name, body.replace('t="n"><v>0.1</v>', 't="n"><f>1/8</f><v>0.125</v>', 1))
    assert read_inputs(cells_of(out), everything(), "14")["terms.waste"] == D("0.125")


def test_every_input_says_where_it_stands() -> None:
    found = where_to_look(everything())
    assert found["terms.waste"] == "Client terms: Waste on sticks"
    assert found["frames.width.N2"] == "Frames: Width, N2"


@pytest.mark.parametrize("schema", ["1", "99"])
def test_a_layout_that_is_not_known_is_refused_with_the_way(tmp_path: Path, schema: str) -> None:
    path = tmp_path / "other.xlsx"
    path.write_bytes(workbook_bytes(everything(), {"job_id": "14", "schema": schema}, "a4"))
    with pytest.raises(
        InputError, match=r"another version .*Run estimate again and type the changes into the new"
    ):
        read_workbook(cells_of(path), everything(), "14")
