"""What hands do to a real workbook, in three programs: the price follows, or a check says so and it is named.

Sorted rows, figures typed over formulas, inputs and rows deleted; then read back.
"""

import io
from collections.abc import Iterable
from decimal import Decimal as D
from functools import cache
from pathlib import Path

import openpyxl
import pytest

from estimator.calc.tables import Book, FieldAddresses, TableSpot
from estimator.core.errors import InputError
from estimator.core.money import decimal
from estimator.intake.cells import cells_of
from estimator.office.edits import applied
from estimator.office.returned import Returned, returned
from estimator.pricing.totals import Totals
from estimator.tables.book import book_of
from estimator.workbook.build import workbook_bytes
from estimator.workbook.control import completed
from tests.workbook.by_hand import Deed, area_of, put, sorted_in_libreoffice, sorting
from tests.workbook.recalculate import Cells, Engine, gnumeric, recalculated, resaved

JOB = Path(__file__).parents[2] / "examples" / "rehearsal_room" / "job.toml"
ENGINES = [
    "ironcalc",
    pytest.param("libreoffice", marks=[pytest.mark.libreoffice, pytest.mark.slow]),
    pytest.param(
        "gnumeric", marks=pytest.mark.skipif(not gnumeric(), reason="gnumeric is not installed here")
    ),
]


@cache
def delivered() -> tuple[Book, FieldAddresses, bytes]:
    estimate = applied(JOB).estimate
    book = book_of(estimate)
    body = workbook_bytes(book, {"job_id": estimate.job.header.number, "title": "t"}, "letter")
    return book, FieldAddresses(completed(book)), body


@cache
def asked() -> Totals:
    """Return price and total of the job as estimated."""
    return applied(JOB).estimate.totals


def spot(table: str) -> TableSpot:
    return delivered()[1].spots[table]


def place(table: str, field: str, row: str = "") -> tuple[str, int, int]:
    cells = delivered()[0].table(table)
    index = cells["key"].values.index(row) if row else 0
    return delivered()[1].cell(cells[field], index)


def typed(table: str, field: str, row: str, value: object) -> Deed:
    sheet, at, column = place(table, field, row)
    return lambda book: setattr(book[sheet].cell(at, column), "value", value)


def edited(folder: Path, *deeds: Deed) -> Path:
    book = openpyxl.load_workbook(io.BytesIO(delivered()[2]))
    for deed in deeds:
        deed(book)
    book.save(folder / "a.xlsx")
    return folder / "a.xlsx"


def shown(found: Cells, table: str, field: str, index: int = 0) -> object:
    book, placement, _ = delivered()
    return found.get(placement.cell(book.table(table)[field], index))


def price(found: Cells) -> float:
    return round(float(str(shown(found, "build_up", "bu_price"))), 2)


def looks(found: Cells) -> set[str]:
    """Return the keys of the checks that say 'look', once the master check is seen to count them."""
    keys = delivered()[0].table("checks")["key"].values
    said = {str(key) for n, key in enumerate(keys) if shown(found, "checks", "verdict", n) != "ok"}
    assert (shown(found, "master", "master_check") == "look") == bool(said)
    return said


def first(found: Cells, check: str) -> object:
    """Return the words by which a check names the first row to look at."""
    index = delivered()[0].table("checks")["key"].values.index(check)
    return shown(found, "checks", "first", index)


def back(path: Path, *, leave: bool = False) -> Returned:
    return returned(applied(JOB), cells_of(path), {}, leave=leave)


def heads(table: str, without: Iterable[str] = ()) -> list[str]:
    return [f.key for f in delivered()[0].table(table).fields if f.key not in without]


SORTED = [("prices", "price"), ("frames", "width"), ("labour_rates", "likely"), ("waste", "share"),
          ("payments", "pay_share"), ("wages", "wage"), ("alpha_frames", "a500")]  # fmt: skip


@pytest.mark.parametrize("engine", ENGINES)
def test_lists_sorted_with_their_codes_leave_every_figure(tmp_path: Path, engine: Engine) -> None:
    path = edited(tmp_path, *(sorting(spot(table), heads(table), by) for table, by in SORTED))
    found = recalculated(path, engine)
    assert (price(found), looks(found)) == (float(asked().price), set())
    brought = back(path)
    assert (brought.changes, brought.warnings, brought.after.totals.total) == ((), (), asked().total)


@pytest.mark.libreoffice
@pytest.mark.parametrize(
    ("table", "by", "last"),
    [("prices", "price", "source"), pytest.param("order", "cost", "cost", marks=pytest.mark.slow)],
)
def test_rows_that_libreoffice_sorts_leave_every_figure(
    tmp_path: Path, table: str, by: str, last: str
) -> None:
    at, book = spot(table), edited(tmp_path)
    begin = "key" if at.table.lead else "supplier"
    every = heads(table)
    done = sorted_in_libreoffice(
        book, tmp_path / "b.xlsx", at.sheet, area_of(at, begin, last), every.index(by) - every.index(begin)
    )
    found = recalculated(done, "libreoffice")
    assert (price(found), looks(found)) == (float(asked().price), set())
    sums = [float(str(shown(found, table, by, n) or 0)) for n in range(at.table.count)]
    assert sums == sorted(sums, reverse=True)
    assert back(done).changes == ()


@pytest.mark.parametrize("engine", ENGINES)
def test_a_list_sorted_without_its_codes_is_seen_and_refused(tmp_path: Path, engine: Engine) -> None:
    path = edited(tmp_path, sorting(spot("prices"), heads("prices", {"key"}), "price"))
    found = recalculated(path, engine)
    assert "rows_kept" in looks(found)
    assert first(found, "rows_kept") != "–"
    with pytest.raises(
        InputError, match=r"Prices, row 8; .*other words stand beside these keys .*member-2x2-8"
    ):
        back(path)


@pytest.mark.parametrize("engine", ENGINES)
def test_prices_sorted_alone_are_seen_and_refused(tmp_path: Path, engine: Engine) -> None:
    path = edited(tmp_path, sorting(spot("prices"), ["price"], "price"))
    assert "prices_kept" in looks(recalculated(path, engine))
    with pytest.raises(InputError, match=r"the same figures stand in other rows of prices\.price"):
        back(path)


@pytest.mark.parametrize("engine", ENGINES)
def test_figures_over_formulas_are_seen_and_named(tmp_path: Path, engine: Engine) -> None:
    item = str(delivered()[0].table("order")["key"].values[0])
    cost = decimal(D(str(delivered()[0].table("labour").value("hours", 0))))
    path = edited(
        tmp_path, typed("build_up", "bu_price", "", 6000), typed("order", "units", item, 5),
        typed("labour", "hours", "prepare", float(str(cost))),
    )  # fmt: skip
    found = recalculated(path, engine)
    assert "whole" in looks(found)
    assert first(found, "whole") != "–"
    with pytest.raises(InputError) as refused:
        back(path)
    assert [p.what for p in refused.value.problems] == [
        f"a formula was overwritten with {value}; not taken" for value in (cost, 6000, 5)
    ]
    assert refused.value.problems[1].where.startswith("Build-up D")
    brought = back(path, leave=True)
    assert (brought.changes, brought.after.totals.price) == ((), asked().price)
    assert [p.severity for p in brought.warnings] == ["warning"] * 3


@pytest.mark.slow
@pytest.mark.libreoffice
def test_a_formula_over_a_formula_shows_in_the_price(tmp_path: Path) -> None:
    item = next(
        str(k) for k in delivered()[0].table("purchases")["key"].values if "fabric-plain-yd" in str(k)
    )
    path = edited(tmp_path, typed("purchases", "cost", item, "=5+0"))
    assert back(path).warnings == ()  # not calculated again: nothing to compare
    (tmp_path / "out").mkdir()
    again = resaved([path], tmp_path / "out")[0]
    assert looks(recalculated(again, "libreoffice")) == set()
    with pytest.raises(
        InputError, match=rf"shows a price of [\d,.]+; from its inputs it is {asked().price:,}"
    ):
        back(again)
    (note,) = back(again, leave=True).warnings
    assert note.severity == "warning"


@pytest.mark.parametrize("engine", ENGINES)
def test_a_price_row_that_was_deleted_is_named(tmp_path: Path, engine: Engine) -> None:
    sheet, row, _ = place("prices", "key", "fabric-plain-yd")
    path = edited(tmp_path, lambda book: book[sheet].delete_rows(row))
    found = recalculated(path, engine)
    assert "priced" in looks(found)
    assert str(first(found, "priced")).startswith("Plain polyester cloth")
    assert isinstance(price(found), float)
    with pytest.raises(InputError, match=r"prices\.content\.fabric-plain-yd; .*is no longer in the workbook"):
        back(path)


@pytest.mark.parametrize("engine", ENGINES)
def test_a_needed_input_emptied_is_seen_and_refused(tmp_path: Path, engine: Engine) -> None:
    path = edited(tmp_path, typed("terms", "margin_asked", "", None))
    if engine != "ironcalc":  # it takes an empty cell with a style for 0
        found = recalculated(path, engine)
        assert "emptied" in looks(found)
        assert str(first(found, "emptied")).startswith("Terms: Profit by")
    with pytest.raises(InputError, match=r"Margin, part of the price .*is empty"):
        back(path)


@pytest.mark.parametrize("engine", ENGINES)
def test_an_optional_input_emptied_is_none_and_the_price_follows(tmp_path: Path, engine: Engine) -> None:
    deeds = (
        typed("others", "other_rate", "other_1", None),
        typed("others", "other_text", "other_1", None),
        typed("payments", "pay_label", "pay_third", None),
        typed("terms", "overhead_rate", "", None),
    )
    path = edited(tmp_path, *deeds)
    brought = back(path)
    now = {c.edit.key: c.edit.now for c in brought.changes}
    assert now == {
        "others.other_rate.other_1": 0, "others.other_text.other_1": "none",
        "payments.pay_label.pay_third": "none", "terms.overhead_rate": 0,
    }  # fmt: skip
    assert brought.after.totals.price < asked().price
    assert [p.label for p in brought.after.totals.payments] == ["Deposit", "Materials on site"]
    if engine == "ironcalc":  # it takes an empty cell with a style for 0, and words are not
        return
    found = recalculated(path, engine)
    assert (price(found), looks(found)) == (float(brought.after.totals.price), set())
    assert shown(found, "payment_terms", "pay_step", 2) == "none"


def test_a_note_beside_the_price_is_named(tmp_path: Path) -> None:
    brought = back(edited(tmp_path, put("Build-up", "H4", "agreed by phone")))
    assert [p.where for p in brought.warnings] == ["Build-up H4 'agreed by phone'"]
