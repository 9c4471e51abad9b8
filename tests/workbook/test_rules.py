"""The invented book keeps all rules, and each rule notices a fault planted against it."""

import io
import zipfile
from collections.abc import Callable
from functools import cache
from typing import Any

import openpyxl
import pytest
from openpyxl.worksheet.hyperlink import Hyperlink

from estimator.workbook.build import workbook_bytes
from tests.workbook.books import everything
from tests.workbook.delivered import Delivered
from tests.workbook.rules import RULES, breaches

SOUND = workbook_bytes(everything(), {"job_id": "DEMO-1"}, "letter")
Fault = Callable[[openpyxl.Workbook], object]


def test_the_invented_book_keeps_every_rule() -> None:
    assert breaches(SOUND) == {}


def _put(sheet: str, cell: str, value: Any) -> Fault:
    def plant(book: openpyxl.Workbook) -> None:
        book[sheet][cell] = value

    return plant


def _open(sheet: str, cell: str) -> Fault:
    def plant(book: openpyxl.Workbook) -> None:
        book[sheet][cell].protection = openpyxl.styles.Protection(locked=False)

    return plant


def _astray(book: openpyxl.Workbook) -> None:
    link = Hyperlink(ref="B8", location="'Gone'!B1")
    book["Contents"]["B8"].hyperlink = link


def _unsaid(book: openpyxl.Workbook) -> None:
    book["About"]["B12"] = "Bounds"


def _sorting(book: openpyxl.Workbook) -> None:
    book["Frames"].protection.sort = False


def _password(book: openpyxl.Workbook) -> None:
    book["Frames"].protection.set_password("x")


def _again(book: openpyxl.Workbook) -> None:
    book["Price"]["D9"] = book["Price"]["D8"].value


COSTS = "Materials!$C$8"
PLANTED: dict[str, list[Fault]] = {
    "one_role": [
        _put("Frames", "B3", "Inputs and outputs"), _open("Materials", "C8"), _put("Frames", "D9", "=E9"),
    ],
    "about_first": [_unsaid],
    "contents_complete": [
        _astray, lambda book: book.create_sheet("Extra"), lambda book: book.remove(book["Contents"]),
    ],
    "no_hidden_numbers": [_put("Price", "D8", f"={COSTS}*1.2"), _put("Price", "D8", "=ROUND(3,2)")],
    "one_formula_a_column": [_put("Materials", "E9", "=C9+D9"), _put("Materials", "E9", "=2*(C8+D9)")],
    "short_formulas": [_put("Price", "D8", "=" + "+".join([COSTS] * 9))],
    "no_nested_if": [_put("Price", "D8", f"=IF({COSTS}>0,IF({COSTS}>1,1,2),0)")],
    "known_functions": [_put("Price", "D8", f"=OFFSET({COSTS},1,1)"), _put("Price", "D8", "=TODAY()")],
    "nothing_twice": [_again],
    "heads_and_units": [
        _put("Frames", "D5", None), _put("Frames", "D6", None), _put("Frames", "D9", "wide"),
        _put("Client terms", "B9", None), _put("Frames", "B8", 3),
    ],
    "one_direction": [
        _put("Materials", "C8", "=Price!D8"), _put("Materials", "E8", "=F8"), _put("Price", "D8", "=D9"),
    ],
    "inputs_only_open": [_open("Frames", "B8"), _open("Price", "D8"), _sorting, _password],
}  # fmt: skip


@pytest.mark.parametrize(
    ("name", "fault"), [(n, f) for n, faults in PLANTED.items() for f in faults], ids=lambda x: str(x)[:24]
)
def test_a_planted_fault_is_found(name: str, fault: Fault) -> None:
    book = openpyxl.load_workbook(io.BytesIO(SOUND))
    fault(book)
    raw = io.BytesIO()
    book.save(raw)
    rule = next(r for r in RULES if r.__name__ == name)
    assert {str(b) for b in rule(Delivered(raw.getvalue()))} - {str(b) for b in rule(_unspoilt())}


@cache
def _unspoilt() -> Delivered:
    """Return the sound book as openpyxl saves it again: without results, else the same."""
    raw = io.BytesIO()
    openpyxl.load_workbook(io.BytesIO(SOUND)).save(raw)
    return Delivered(raw.getvalue())


def patched(part: str, old: str, new: str) -> bytes:
    """Return the sound book with a text in one part exchanged, results kept."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(SOUND)) as file, zipfile.ZipFile(out, "w") as changed:
        for name in file.namelist():
            body = file.read(name).decode()
            assert name != part or old in body
            changed.writestr(name, body.replace(old, new, 1) if name == part else body)
    return out.getvalue()


ABOUT, PRICE, CHECKS = (f"xl/worksheets/sheet{n}.xml" for n in (1, 7, 8))


@pytest.mark.parametrize(
    ("name", "part", "old", "new"),
    [
        ("checked_totals", ABOUT, "<v>ok</v>", "<v>fine</v>"),
        ("checked_totals", ABOUT, "COUNTIF('Checks &amp; texts'!$F$8:$F$9,\"look\")+", ""),
        ("checked_totals", CHECKS, "<f>materials</f>", "<f>waste</f>"),
        ("checks_trip", CHECKS, '<f>IF(ROUND(E8,2)=0,"ok","look")</f>', '<f>IF(E8=E8,"ok","look")</f>'),
        ("whole_file", PRICE, "<v>97.58</v>", "<v>97.59</v>"),
        ("whole_file", PRICE, "<v>97.58</v>", "<v></v>"),
        ("whole_file", "xl/workbook.xml", "'Client terms'!$D$8<", "'Gone'!$D$8<"),
        ("whole_file", PRICE, "margin)", "no_such_name)"),
    ],
)
def test_a_fault_in_results_or_checks_is_found(name: str, part: str, old: str, new: str) -> None:
    raw = patched(part, old, new)
    assert next(r for r in RULES if r.__name__ == name)(Delivered(raw)).__next__()


def test_every_rule_has_a_planted_fault() -> None:
    assert {r.__name__ for r in RULES} == set(PLANTED) | {"checked_totals", "checks_trip", "whole_file"}
