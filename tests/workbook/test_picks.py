"""An input that names a row of another table: a drop-down of its keys, checked again when it comes back."""

import io
from decimal import Decimal as D
from pathlib import Path

import openpyxl
import pytest

from estimator.calc.expressions import find
from estimator.calc.tables import Book, Draft, Sheet
from estimator.core.errors import InputError
from estimator.workbook.build import workbook_bytes
from estimator.workbook.readback import read_inputs
from estimator.workbook.recalculate import compare_with, recalculated


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
    assert read_inputs(path, book(), "1")["lines.item.top"] == "ash"
    assert compare_with(book("ash"), recalculated(path, "ironcalc")) == ()


def test_a_choice_of_a_new_row_comes_back_with_it(tmp_path: Path) -> None:
    found = read_inputs(returned(tmp_path / "a.xlsx", "spare-1", "Elm"), book(), "1")
    assert (found["lines.item.top"], found["prices.price.spare-1"]) == ("spare-1", D(12))


@pytest.mark.parametrize("chosen", ["elm", "spare-1"])
def test_a_choice_of_no_row_is_refused(tmp_path: Path, chosen: str) -> None:
    with pytest.raises(InputError, match=rf"lines\.item\.top: names {chosen}, which is not in the list"):
        read_inputs(returned(tmp_path / "a.xlsx", chosen), book(), "1")
