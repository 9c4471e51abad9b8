"""What came since a workbook was written is taken or named: typed over, changed, added, sorted, emptied."""

from collections.abc import Callable
from decimal import Decimal as D
from pathlib import Path

import openpyxl
import pytest
from openpyxl.comments import Comment

from estimator.calc.tables import FieldAddresses, TableSpot
from estimator.core.errors import InputError, Problem
from estimator.intake.cells import cells_of
from estimator.office.edits import changes, inputs_of
from estimator.workbook.build import workbook_bytes
from estimator.workbook.control import completed
from estimator.workbook.readback import WorkbookReturn, read_workbook
from tests.workbook.books import everything
from tests.workbook.by_hand import (
    Deed,
    area_of,
    put,
    saved_by_gnumeric,
    sorted_in_libreoffice,
    sorting,
)
from tests.workbook.recalculate import gnumeric, resaved

Saved = Callable[[Path, Path], Path]
SAVERS: dict[str, Saved] = {
    "openpyxl": lambda path, _: path,
    "libreoffice": lambda path, folder: resaved([path], folder)[0],
    "gnumeric": saved_by_gnumeric,
}
PROGRAMS = [
    "openpyxl",
    pytest.param("libreoffice", marks=pytest.mark.libreoffice),
    pytest.param(
        "gnumeric", marks=pytest.mark.skipif(not gnumeric(), reason="gnumeric is not installed here")
    ),
]


def spot(table: str) -> TableSpot:
    return FieldAddresses(completed(everything())).spots[table]


def edited(folder: Path, *deeds: Deed) -> Path:
    path = folder / "a.xlsx"
    path.write_bytes(workbook_bytes(everything(), {"job_id": "14"}, "a4"))
    book = openpyxl.load_workbook(path)
    for deed in deeds:
        deed(book)
    book.save(path)
    return path


def saved(folder: Path, program: str, *deeds: Deed) -> Path:
    (folder / "out").mkdir()
    return SAVERS[program](edited(folder, *deeds), folder / "out")


def back(path: Path, *, leave: bool = False) -> WorkbookReturn:
    return read_workbook(cells_of(path), everything(), "14", leave=leave)


def refused(path: Path) -> tuple[Problem, ...]:
    with pytest.raises(InputError) as found:
        back(path)
    return found.value.problems


@pytest.mark.parametrize("program", PROGRAMS)
def test_an_untouched_workbook_has_nothing_to_say(tmp_path: Path, program: str) -> None:
    found = back(saved(tmp_path, program))
    assert found.notes == ()
    assert changes(found.issued, found.inputs) == ()
    assert dict(found.results) == {}


def hand(book: openpyxl.Workbook) -> None:
    """Do what an office does with a file that is no longer protected."""
    book["Price"]["D11"].value = 6000
    book["Materials"]["C9"].value = None
    book["Frames"]["C9"].value = "Attic"
    book["Frames"]["G3"].value = "Ask about the east wall"
    book["Price"]["F9"].value = 12.5
    book["Client terms"].insert_rows(25)
    for column, value in (("B", "my-clips"), ("C", "Clips"), ("E", 4.5)):
        book["Client terms"][f"{column}25"].value = value
    book["Frames"]["D10"].comment = Comment("Measured twice", "Office")
    book.create_sheet("Scratch")["A1"].value = "Call on Monday"


SAID = {
    "Price D11": ("a formula was overwritten with 6000; not taken", "error"),
    "Materials C9": ("a formula was emptied; not taken", "error"),
    "Frames, row 9": ("words that the program writes were changed; not taken", "warning"),
    "Frames G3 'Ask about the east wall'": ("was added in the workbook; not taken", "warning"),
    "Price F9 12.5": ("was added in the workbook; not taken", "warning"),
    "Client terms B25 'my-clips'; Client terms C25 'Clips'; Client terms E25 4.5":
        ("was added in the workbook; not taken", "warning"),
    "Frames D10 'Measured twice'": ("is a note pinned to a cell; not taken", "warning"),
    "Scratch A1 'Call on Monday'": ("was added in the workbook; not taken", "warning"),
}  # fmt: skip


@pytest.mark.parametrize("program", PROGRAMS)
def test_what_is_not_taken_is_named_once(tmp_path: Path, program: str) -> None:
    path = saved(tmp_path, program, hand)
    assert {p.where: (p.what, p.severity) for p in refused(path)} == SAID
    found = back(path, leave=True)
    assert {p.where: p.what for p in found.notes} == {where: what for where, (what, _) in SAID.items()}
    assert {p.severity for p in found.notes} == {"warning"}
    assert changes(found.issued, found.inputs) == ()


def test_many_notes_are_said_briefly(tmp_path: Path) -> None:
    def notes(book: openpyxl.Workbook) -> None:
        for row in range(1, 200):
            book["Frames"].cell(row, 9).value = f"note {row} " + "x" * 500

    (note,) = back(edited(tmp_path, notes)).notes
    assert note.where.startswith("Frames I1 'note 1 xxx")
    assert note.where.endswith("and 196 more")
    assert len(str(note)) < 400


def test_a_decided_figure_typed_over_is_named(tmp_path: Path) -> None:
    from tests.workbook.test_parted import decided_book  # noqa: PLC0415 - a book of its own

    path = tmp_path / "b.xlsx"
    path.write_bytes(workbook_bytes(decided_book(), {"job_id": "14"}, "a4"))
    book = openpyxl.load_workbook(path)
    book["Plans"]["C9"].value = 7
    book.save(path)
    with pytest.raises(InputError, match=r"Plans, row 9: a figure that the program decided was typed over"):
        read_workbook(cells_of(path), decided_book(), "14")


WHOLE = ("key", "what", "unit", "price", "pack")


@pytest.mark.parametrize("program", PROGRAMS)
def test_rows_sorted_with_their_codes_bring_back_nothing_new(tmp_path: Path, program: str) -> None:
    found = back(saved(tmp_path, program, sorting(spot("prices"), WHOLE, "price")))
    assert changes(inputs_of(everything()), found.inputs) == ()
    assert found.notes == ()


@pytest.mark.libreoffice
def test_rows_sorted_by_libreoffice_itself_bring_back_nothing_new(tmp_path: Path) -> None:
    path, at = edited(tmp_path), spot("prices")
    area = area_of(at, "key", "pack")
    done = sorted_in_libreoffice(path, tmp_path / "sorted.xlsx", at.sheet, area, WHOLE.index("price"))
    first = openpyxl.load_workbook(done)[at.sheet]
    assert [first.cell(at.first + n, 2).value for n in range(3)] == ["fabric", "staples", "stick"]
    found = back(done)
    assert changes(inputs_of(everything()), found.inputs) == ()
    assert found.notes == ()


@pytest.mark.parametrize("program", PROGRAMS)
def test_rows_sorted_without_their_codes_are_refused_by_name(tmp_path: Path, program: str) -> None:
    (problem, *_) = refused(saved(tmp_path, program, sorting(spot("prices"), WHOLE[1:], "price")))
    assert problem.where == "Client terms, row 23; Client terms, row 24; Client terms, row 25"
    assert problem.what.endswith("than were written: stick, fabric, staples")


@pytest.mark.parametrize("program", PROGRAMS)
def test_a_column_sorted_alone_is_refused(tmp_path: Path, program: str) -> None:
    (problem,) = refused(saved(tmp_path, program, sorting(spot("prices"), ["price"], "price")))
    assert problem.what == "the same figures stand in other rows of prices.price"
    assert problem.where == "Client terms E23; Client terms E24; Client terms E25"


def test_two_figures_that_changed_places_are_taken_with_a_word(tmp_path: Path) -> None:
    path = edited(tmp_path, put("Client terms", "E23", 18.5), put("Client terms", "E24", 3.97))
    found = back(path)
    assert [p.what for p in found.notes] == ["the same figures stand in other rows of prices.price"]
    assert [e.now for e in changes(found.issued, found.inputs)] == [D("18.5"), D("3.97")]


def test_real_changes_of_price_are_taken_without_a_word(tmp_path: Path) -> None:
    prices = (("E23", 4.25), ("E24", 19.5), ("E25", 6.5))
    found = back(edited(tmp_path, *(put("Client terms", cell, price) for cell, price in prices)))
    assert len(changes(found.issued, found.inputs)) == 3
    assert found.notes == ()


def test_a_form_sorted_without_its_hidden_keys_is_refused(tmp_path: Path) -> None:
    def swap(book: openpyxl.Workbook) -> None:
        for column in "BCD":
            upper, lower = book["Client terms"][f"{column}8"], book["Client terms"][f"{column}9"]
            upper.value, lower.value = lower.value, upper.value

    (problem, *_) = refused(edited(tmp_path, swap))
    assert problem.where == "Client terms, row 8; Client terms, row 9"
    assert problem.what.startswith("other words stand beside these keys")


def test_an_emptied_input_is_none_where_it_may_be_and_refused_where_not(tmp_path: Path) -> None:
    found = back(edited(tmp_path, put("Client terms", "D15", None)))
    assert found.inputs["terms.remark"] is None
    assert [e.now for e in changes(found.issued, found.inputs)] == [None]
    for cell in ("D8", "D13", "D14", "E23"):
        (problem,) = refused(edited(tmp_path, put("Client terms", cell, None)))
        assert problem.what == "is empty"


def test_a_workbook_whose_codes_are_gone_is_refused(tmp_path: Path) -> None:
    (problem,) = refused(edited(tmp_path, lambda book: book.remove(book["As issued"])))
    assert problem.what == "the sheet with the inputs as issued is gone"
