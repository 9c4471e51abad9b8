"""A workbook as the first version laid it out (keys hidden left of every list) is read, never misread."""

from collections.abc import Sequence
from decimal import Decimal as D
from pathlib import Path

import openpyxl
import pytest

from estimator.core.errors import InputError
from estimator.intake.cells import cells_of
from estimator.office.edits import Edit, changes
from estimator.workbook.readback import WorkbookReturn, read_workbook
from tests.workbook.books import everything
from tests.workbook.by_hand import Deed, put, sort_rows

OLD = Path(__file__).parents[1] / "golden" / "schema_1.xlsx"
PRICES, PRICE = range(23, 26), 4


def back(folder: Path, *deeds: Deed) -> WorkbookReturn:
    book = openpyxl.load_workbook(OLD)
    for deed in deeds:
        deed(book)
    book.save(folder / "old.xlsx")
    return read_workbook(cells_of(folder / "old.xlsx"), everything(), "DEMO-1")


def sorting(columns: Sequence[int]) -> Deed:
    return lambda book: sort_rows(book["Client terms"], PRICES, columns, PRICE)


def test_its_changes_are_read(tmp_path: Path) -> None:
    found = back(tmp_path, put("Client terms", "D8", 0.125), put("Client terms", "D23", 4.25))
    assert set(changes(found.issued, found.inputs)) == {
        Edit("terms.waste", D("0.1"), D("0.125")),
        Edit("prices.price.stick", D("3.97"), D("4.25")),
    }
    (note,) = found.notes
    assert "was written by an older version" in note.what


def test_its_rows_sorted_with_their_keys_are_read(tmp_path: Path) -> None:
    found = back(tmp_path, sorting(range(1, 6)))
    assert changes(found.issued, found.inputs) == ()


def test_its_rows_sorted_without_their_keys_are_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"other words stand beside these keys .*stick"):
        back(tmp_path, sorting(range(2, 6)))


def test_its_price_column_sorted_alone_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="the same figures stand in other rows"):
        back(tmp_path, sorting([PRICE]))


def test_a_layout_that_is_not_known_is_refused_with_the_way(tmp_path: Path) -> None:
    book = openpyxl.load_workbook(OLD)
    for kept in book.custom_doc_props.props:  # type: ignore[attr-defined]
        kept.value = "99" if kept.name == "schema" else kept.value
    book.save(tmp_path / "new.xlsx")
    with pytest.raises(
        InputError, match=r"another version .*Run estimate again and type the changes into the new"
    ):
        read_workbook(cells_of(tmp_path / "new.xlsx"), everything(), "DEMO-1")
