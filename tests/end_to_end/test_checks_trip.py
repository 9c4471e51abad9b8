"""Every check of a delivered workbook says 'look' once a fault that it is there to find is planted.

A fault is an input gone wrong, or a cell overwritten by hand; the workbook is then worked out by another
program. A check without a planted fault fails the test.
"""

import re
import tempfile
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import ironcalc
import pytest

from estimator.calc.tables import Book, FieldAddresses
from estimator.workbook.control import completed
from tests.examples import sheets_of, workbook_of

NAME = "chapel_annex"
Fault = tuple[str, str, int, float | str | None]
MOVED, PACED = ("prices", "price"), ("labour_rates", "likely")
"""Columns of which two figures change places: the rows named take each other's."""
FAULTS: dict[str, tuple[Fault, ...]] = {
    "plan_in_date": (("frames", "width", 0, 60.0),),
    "plan_prices": (("prices", "price", 0, 0.5),),
    "layout_in_date": (("frames", "height", 3, 61.0),),
    "as_run": (("practice", "saw_kerf", 0, 0.25),),
    "worked_sum": (("hours_variance", "worked", 2, 5.0),),
    "paid_sum": (("cost_variance", "paid", 1, 5.0),),
    "open_sum": (("actual_form", "invoiced_total", 0, 700.0),),
    "filled": (("actual_hours", "spent", 0, -1.0),),
    "days_in_date": (("labour_rates", "likely", 2, 500.0),),
    "carried": (("practice", "hooks_per_recess", 0, 2.0),),
    "materials_sum": (("sections", "cost", 0, 1.0),),
    "line_sum": (("line_costs", "section", 0, "Lumbr"),),
    "area_sum": (("frame_work", "frame_area", 0, 1.0),),
    "trail_sum": (("frame_trail", "line", 0, "member:of-no-line"),),
    "enough": (
        ("purchases", "packs", 0, 0.0),
        ("purchases", "packs", 1, 0.0),
        ("purchases", "packs", 2, 0.0),
    ),
    "priced": (("prices", "price", 0, 0.0),),
    "labour_sum": (("labour", "cost", 0, 1.0),),
    "whole": (("build_up", "bu_price", 0, 6000.0),),
    "rows_kept": (("prices", "description", 1, "Another thing"),),
    "prices_kept": tuple((*MOVED, row, None) for row in (0, 1)),
    "labour_rates_kept": tuple((*PACED, row, None) for row in (0, 1)),
    "named": (("bindings", "label", 0, "Another input"),),
    "emptied": (("terms", "margin_asked", 0, None),),
    "options_in_date": (("waste", "share", 0, 0.9),),
    "margin_possible": (("terms", "margin_asked", 0, 1.0),),
    "tax_possible": (("taxes", "tax_inside", 0, "yes"),),
    "steps_in_order": (("payments", "pay_label", 1, "none"), ("payments", "pay_share", 1, 0.0)),
    "one_step": tuple(
        ("payments", field, step, value)
        for step in range(3)
        for field, value in (("pay_label", "none"), ("pay_share", 0.0))
    ),
    "paid_0": (("payment_plan", "due_0", 0, 1.0),),
    "paid_1": (("payment_plan", "due_1", 0, 1.0),),
    "paid_2": (("payment_plan", "due_2", 0, 1.0),),
    "no_minus": (("payments", "pay_share", 0, 1.0), ("payments", "pay_share", 1, 1.0)),
    "floor": (("terms", "margin_floor", 0, 0.9),),
}


@cache
def delivered() -> tuple[Book, FieldAddresses, bytes]:
    book = sheets_of(NAME)
    return book, FieldAddresses(completed(book)), workbook_of(NAME)


class Planted:
    """The delivered workbook in another program, ready for faults."""

    def __init__(self) -> None:
        self.book, self.placement, body = delivered()
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "book.xlsx"
            path.write_bytes(body)
            self.model = ironcalc.load_from_xlsx(str(path), "en", "UTC", "en")
        self.sheets = [s["name"] for s in self.model.get_worksheets_properties()]

    def put(self, at: tuple[str, int, int], value: float | str | None) -> None:
        sheet, row, column = at
        if value is None:
            self.model.clear_cell_contents(self.sheets.index(sheet), row, column)
        elif isinstance(value, str):
            self.model.update_cell_with_text(self.sheets.index(sheet), row, column, value)
        else:
            self.model.update_cell_with_number(self.sheets.index(sheet), row, column, value)

    def plant(self, faults: tuple[Fault, ...]) -> None:
        for table, field, index, value in faults:
            cells = self.book.table(table)[field]
            swapped = value is None and (table, field) in {MOVED, PACED}
            other = float(str(cells.values[1 - index])) if swapped else value
            self.put(self.placement.cell(cells, index), other)
        self.model.evaluate()

    def shown(self, table: str, field: str, index: int) -> object:
        sheet, row, column = self.placement.cell(self.book.table(table)[field], index)
        return self.model.get_cell_value(self.sheets.index(sheet), row, column)

    def looks(self) -> Iterator[str]:
        """The checks that say 'look'."""
        for index, key in enumerate(self.book.table("checks")["key"].values):
            if self.shown("checks", "verdict", index) == "look":
                yield str(key)


def fault_of(check: str) -> str:
    """Return the key in FAULTS for a check: checks of every option share one, but for payments."""
    return check if check in FAULTS else re.sub(r"_\d+$", "", check)


def test_every_check_has_a_planted_fault() -> None:
    checks = {str(k) for k in delivered()[0].table("checks")["key"].values}
    assert {fault_of(c) for c in checks} == set(FAULTS)


def test_nothing_trips_without_a_fault() -> None:
    sound = Planted()
    sound.plant(())
    assert list(sound.looks()) == []
    assert sound.shown("master", "master_check", 0) == "ok"


@pytest.mark.parametrize("fault", FAULTS)
def test_the_check_trips(fault: str) -> None:
    spoilt = Planted()
    spoilt.plant(FAULTS[fault])
    wanted = {str(k) for k in spoilt.book.table("checks")["key"].values if fault_of(str(k)) == fault}
    assert wanted <= set(spoilt.looks())
    assert spoilt.shown("master", "master_check", 0) == "look"


def test_a_name_parted_from_its_key_trips() -> None:
    spoilt, bound = Planted(), delivered()[0].table("bindings")
    for table, field in (("terms", "discount_rate"), ("practice", "coats"), ("labour_basis", "pert_weight")):
        sheet, row, _ = spoilt.placement.cell(spoilt.book.table(table)[field], 0)
        spoilt.put((sheet, row, 1), "another_key")
    spoilt.model.evaluate()
    tripped = [k for i, k in enumerate(bound["key"].values) if spoilt.shown("bindings", "check", i) == "look"]
    assert set(tripped) == {"discount_rate", "coats", "pert_weight"}
    assert spoilt.shown("master", "master_check", 0) == "look"
