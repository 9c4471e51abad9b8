"""An input that names a row of another table: a drop-down of its keys, checked again when it comes back."""

import io
from decimal import Decimal as D
from pathlib import Path

import openpyxl
import pytest

from estimator.calc.expressions import find
from estimator.calc.tables import Book, Draft, Sheet
from estimator.core.errors import InputError
from estimator.intake.cells import cells_of
from estimator.workbook.build import workbook_bytes
from estimator.workbook.readback import read_inputs
from tests.workbook.recalculate import compare_with, recalculated


def book(chosen: str = "oak") -> Book:
    prices = Draft("prices", "Prices", spare=2)
    keys = prices.keys(["oak", "ash"])
    prices.label("what", "What", ["Oak", "Ash"])
    price = prices.input("price", "Price", "$", [D(9), D(7)], low=D(0))
    lines = Draft("lines", "Lines")
    lines.keys(["top"])
    lines.label("what", "What", ["Top rail"])
    item = lines.input("item", "Made of", "", [chosen], picks=keys)
    costs = Draft("costs", "Costs")
    costs.keys(["top"])
    costs.label("what", "What", ["Top rail"])
    costs.formula("cost", "Cost", "$", find(price, keys, item))
    tables = (prices.table(),), (lines.table(),), (costs.table(),)
    titles = ("Prices", "inputs"), ("Lines", "inputs"), ("Costs", "workings")
    return Book(tuple(Sheet(t, r, t, own) for (t, r), own in zip(titles, tables, strict=True)))  # type: ignore[arg-type]


def returned(path: Path, chosen: str, new: str = "") -> Path:
    file = openpyxl.load_workbook(io.BytesIO(workbook_bytes(book(), {"job_id": "1"}, "a4")))
    file["Lines"]["C8"].value = chosen
    if new:
        file["Prices"]["B10"].value, file["Prices"]["C10"].value = new, 12
    file.save(path)
    return path


def test_the_drop_down_offers_every_key_and_the_spare_ones() -> None:
    file = openpyxl.load_workbook(io.BytesIO(workbook_bytes(book(), {}, "a4")))
    rule = file["Lines"].data_validations.dataValidation[0]
    assert (rule.type, rule.formula1, str(rule.sqref)) == ("list", "Prices!$A$8:$A$11", "C8")
    assert [file["Prices"].cell(row, 1).value for row in range(8, 12)] == ["oak", "ash", "spare-1", "spare-2"]


def test_a_choice_comes_back_and_counts(tmp_path: Path) -> None:
    path = returned(tmp_path / "a.xlsx", "ash")
    assert read_inputs(cells_of(path), book(), "1")["lines.item.top"] == "ash"
    assert compare_with(book("ash"), recalculated(path, "ironcalc")) == ()


def test_a_choice_of_a_new_row_comes_back_with_it(tmp_path: Path) -> None:
    found = read_inputs(cells_of(returned(tmp_path / "a.xlsx", "spare-1", "Elm")), book(), "1")
    assert (found["lines.item.top"], found["prices.price.spare-1"]) == ("spare-1", D(12))


@pytest.mark.parametrize("chosen", ["elm", "spare-1"])
def test_a_choice_of_no_row_is_refused(tmp_path: Path, chosen: str) -> None:
    with pytest.raises(InputError, match=rf"lines\.item\.top: names {chosen}, which is not in the list"):
        read_inputs(cells_of(returned(tmp_path / "a.xlsx", chosen)), book(), "1")


def listed(values: list[str], *, spare: int = 2) -> list[tuple[str, str, str]]:
    """Return cells, list and strictness of every drop-down of a table with such suppliers."""
    prices = Draft("prices", "Prices", spare=spare)
    prices.keys([f"k{n}" for n, _ in enumerate(values)])
    prices.label("supplier", "Supplier", values, offers=True)
    prices.label("note", "Note", values)
    sheets = (Sheet("Prices", "inputs", "Prices", (prices.table(),)),)
    file = openpyxl.load_workbook(io.BytesIO(workbook_bytes(Book(sheets), {}, "a4")))
    rules = file["Prices"].data_validations.dataValidation
    return [(str(r.sqref), str(r.formula1), str(r.errorStyle)) for r in rules if r.type == "list"]


def test_spare_rows_offer_what_stands_in_the_column_and_take_anything_else() -> None:
    assert listed(["Alder", "Birch", "Alder", ""]) == [("B12:B13", '"Alder,Birch"', "warning")]
    assert listed(["Alder"], spare=0) == []


def test_what_a_list_cannot_hold_is_left_out_of_it() -> None:
    assert listed(["Oak, Ash & Co", 'The "Shed"']) == []
    ((_, found, _),) = listed([f"supplier number {n:03}" for n in range(40)])
    assert len(found) <= 257
    assert found.endswith('011"')
