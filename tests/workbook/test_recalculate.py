"""Other programs work out the same figures: with results removed, with wrong results, with inputs changed.

The engines compared against are independent of this project: LibreOffice Calc and ironcalc.
"""

import io
import re
import zipfile
from decimal import Decimal as D
from pathlib import Path

import openpyxl
import pytest

from estimator.calc.expressions import All, Expr, call, find, round_to, total, total_where, whole_down
from estimator.calc.tables import Book, Draft, Sheet
from estimator.core.errors import OutputError
from estimator.workbook.build import workbook_bytes
from tests.workbook import recalculate
from tests.workbook.books import everything
from tests.workbook.recalculate import compare_with, recalculated, recalculated_all, resaved

_RESULT = re.compile(r"(</f>)<v>([^<]*)</v>")


def spoilt(raw: bytes, result: str) -> bytes:
    """Return a workbook with the result of every formula replaced: '' to remove it."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(raw)) as file, zipfile.ZipFile(out, "w") as changed:
        for name in file.namelist():
            body = file.read(name)
            if name.startswith("xl/worksheets/sheet"):
                text = re.sub(r' t="str"(><f>)', r"\1", body.decode())
                body = _RESULT.sub(rf"\1<v>{result}</v>" if result else r"\1", text).encode()
            changed.writestr(name, body)
    return out.getvalue()


def with_inputs(raw: bytes, changes: dict[tuple[str, str], float]) -> bytes:
    """Return a workbook with cells changed, as an office would: through another program."""
    book = openpyxl.load_workbook(io.BytesIO(raw))
    for (sheet, cell), value in changes.items():
        book[sheet][cell].value = value
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


CHANGES: dict[tuple[str, str], float] = {("Client terms", "D8"): 0.25, ("Frames", "D8"): 60.5}


def cases(folder: Path) -> list[tuple[Path, Book]]:
    """Write the book without results, with wrong ones, with inputs changed; return what each must be."""
    raw = workbook_bytes(everything(), {"job_id": "DEMO-1"}, "a4")
    changed = everything(waste=D("0.25"), first_width=D("60.5"))
    bodies = {"none": spoilt(raw, ""), "wrong": spoilt(raw, "12345"), "changed": with_inputs(raw, CHANGES)}
    books = {"none": everything(), "wrong": everything(), "changed": changed}
    out = []
    for name, body in bodies.items():
        path = folder / f"{name}.xlsx"
        path.write_bytes(body)
        out.append((path, books[name]))
    return out


def test_spoiling_spoils() -> None:
    raw = workbook_bytes(everything(), {}, "a4")
    for result, expected in (("", None), ("12345", 12345)):
        book = openpyxl.load_workbook(io.BytesIO(spoilt(raw, result)), data_only=True)
        assert book["Price"]["D11"].value == expected


def test_ironcalc_agrees_whatever_results_it_finds(tmp_path: Path) -> None:
    for path, book in cases(tmp_path):
        assert compare_with(book, recalculated(path, "ironcalc")) == ()


@pytest.mark.libreoffice
def test_libreoffice_agrees_whatever_results_it_finds(tmp_path: Path) -> None:
    paths, books = zip(*cases(tmp_path), strict=True)
    for book, values in zip(books, recalculated_all(paths, "libreoffice"), strict=True):
        assert compare_with(book, values) == ()


def test_a_difference_is_reported_by_key(tmp_path: Path) -> None:
    path = tmp_path / "book.xlsx"
    path.write_bytes(workbook_bytes(everything(waste=D("0.25")), {}, "a4"))
    found = compare_with(everything(), recalculated(path, "ironcalc"))
    assert any(str(p).startswith("buy.need.stick: is ") for p in found)


def _sheet_of_functions() -> Book:
    """Every function of the language, where engines have been known to differ."""
    rows = Draft("rows", "Rows")
    keys = rows.keys(["a", "b", "c"])
    rows.label("name", "Name", ["Alpha", "beta", "Alpha"])
    amount = rows.input("amount", "Amount", "", [D("0.1"), D("0.2"), D("-2.675")])
    blank = rows.input("blank", "Blank", "", [None, None, D(1)], low=D(0))
    names = rows.fields[1]
    exprs: dict[str, Expr] = {
        "sum": total(amount),
        "half_up": round_to(amount.at(2), 2),
        "nearly": call("ROUNDUP", round_to((amount.at(0) + amount.at(1)) / amount.at(0), 6), 0),
        "up": call("ROUNDUP", amount.at(2), 1),
        "down": call("ROUNDDOWN", amount.at(2), 1),
        "nearly_down": whole_down((amount.at(0) + amount.at(1)) / amount.at(0)),
        "case": total_where(amount, names, "ALPHA"),
        "count": call("COUNTIF", All(names), "BETA"),
        "count_number": call("COUNTIF", All(blank), 1),
        "match": call("MATCH", "B", All(keys), 0),
        "found": find(names, keys, "c"),
        "missing": call("IFERROR", find(names, keys, "zz"), "none"),
        "divided": call("IFERROR", amount.at(0) / blank.at(0), 0),
        "largest": call("MAX", All(amount), 0),
        "smallest": call("MIN", All(amount), 0),
        "product": call("SUMPRODUCT", All(amount), All(blank)),
        "with_text": call("SUMPRODUCT", All(amount), All(names)),
        "log": call("LN", amount.at(1)),
        "root": call("SQRT", amount.at(1)),
        "both": call("IF", call("AND", amount.at(0).gt(0), amount.at(2).lt(0)), 1, 0),
        "either": call("IF", call("OR", amount.at(0).lt(0), amount.at(2).gt(0)), 1, 0),
        "blank_is_zero": call("IF", blank.at(0).eq(0), 1, 0),
        "blank_looked_up": find(blank, keys, "a") + 1,
        "order": amount.at(0) - (amount.at(1) - amount.at(2)) / (2 * amount.at(0)),
        "compared": call("IF", (amount.at(0) + amount.at(1)).gt(amount.at(0)), "more", "less"),
    }
    out = Draft("results", "Results", "across")
    for key, expr in exprs.items():
        out.formula(f"f_{key}", key, "", expr)
    inputs = Sheet("Inputs", "inputs", "", (rows.table(),))
    return Book((inputs, Sheet("Results", "workings", "", (out.table(),))))


def test_functions_agree_in_ironcalc(tmp_path: Path) -> None:
    path = tmp_path / "functions.xlsx"
    path.write_bytes(spoilt(workbook_bytes(_sheet_of_functions(), {}, "a4"), ""))
    assert compare_with(_sheet_of_functions(), recalculated(path, "ironcalc")) == ()


@pytest.mark.libreoffice
def test_functions_agree_in_libreoffice(tmp_path: Path) -> None:
    path = tmp_path / "functions.xlsx"
    path.write_bytes(spoilt(workbook_bytes(_sheet_of_functions(), {}, "a4"), ""))
    assert compare_with(_sheet_of_functions(), recalculated(path, "libreoffice")) == ()


def test_a_machine_without_libreoffice_is_told(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(recalculate, "office", lambda: None)
    with pytest.raises(OutputError, match="Install LibreOffice"):
        resaved([tmp_path / "a.xlsx"], tmp_path)
    assert resaved([], tmp_path) == []


@pytest.mark.libreoffice
def test_a_file_libreoffice_cannot_open_is_told(tmp_path: Path) -> None:
    (tmp_path / "a.xlsx").write_bytes(b"PK\x03\x04 nothing")
    (tmp_path / "out").mkdir()
    with pytest.raises(OutputError, match="did not write"):
        resaved([tmp_path / "none.xlsx"], tmp_path / "out")


def test_names_that_lost_their_rows_are_noticed(tmp_path: Path) -> None:
    """Two rows of a form change places: the names stay behind, and the master check says so."""
    book = openpyxl.load_workbook(io.BytesIO(workbook_bytes(everything(), {}, "a4")))
    sheet = book["Client terms"]
    for column in range(1, 7):
        upper, lower = sheet.cell(8, column), sheet.cell(10, column)
        upper.value, lower.value = lower.value, upper.value
    book.save(tmp_path / "a.xlsx")
    found = recalculated(tmp_path / "a.xlsx", "ironcalc")
    assert found["About", 14, 4] == "look"
    looked_at = [place for place, value in found.items() if place[0] == "Checks & texts" and value == "look"]
    assert len(looked_at) == 2
