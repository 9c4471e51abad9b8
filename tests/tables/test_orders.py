"""The start of the work dates the plan and the orders; left out, nothing is dated."""

import datetime as dt
import io
from pathlib import Path

import openpyxl

from estimator.catalogue.load import load
from estimator.pipeline import Estimate, estimate
from estimator.tables.book import book_of
from estimator.tables.figures import figures
from estimator.workbook.build import workbook_bytes
from estimator.workbook.styles import FAINT_INK

JOB = Path(__file__).parents[2] / "examples" / "rehearsal_room" / "job.toml"


def starting(start: dt.date | None) -> Estimate:
    job, catalogue, _ = load(JOB)
    return estimate(
        job.model_copy(update={"header": job.header.model_copy(update={"start": start})}), catalogue
    )


def test_a_start_on_a_closed_day_moves_to_the_next_open_one_and_dates_everything() -> None:
    saturday = dt.date(2026, 3, 14)
    one = starting(saturday)
    days = [d.date for d in one.scope.schedule.days if d.date]
    assert days[0] == dt.date(2026, 3, 16)
    assert all(d.weekday() < 5 for d in days)
    order = book_of(one).table("order")
    by_item = dict(zip(order["item"].values, order["order_by"].values, strict=True))
    # Cloth takes 10 working days (the price list): Monday 16 March less two weeks of five days.
    assert one.catalogue.item("fabric-plain-yd").lead_days == 10
    assert by_item["fabric-plain-yd"] == dt.date(2026, 3, 2)
    assert one.problems == starting(None).problems


def test_the_json_answer_carries_the_dates() -> None:
    told = figures(starting(dt.date(2026, 3, 14)))["schedule"]
    assert (told["first"], told["order_by"]["fabric-plain-yd"]) == (dt.date(2026, 3, 16), dt.date(2026, 3, 2))
    assert told["last"] >= told["first"]
    assert figures(starting(None))["schedule"] == {**told, "first": None, "last": None, "order_by": {}}


def test_a_start_too_soon_for_the_suppliers_is_said() -> None:
    one = starting(dt.date(2026, 3, 4))
    late = [p for p in one.problems if p.where == "job.start"]
    assert len(late) == 1
    assert "fabric-plain-yd would have to be ordered by 2026-02-18" in late[0].what


def test_without_a_start_nothing_is_dated() -> None:
    one = starting(None)
    assert one.scope.orders == {}
    assert all(d.date is None for d in one.scope.schedule.days)
    assert "order_by" not in [f.key for f in book_of(one).table("order").fields]


def test_rows_of_the_order_that_need_nothing_are_grey() -> None:
    """The rule reads the number to order in its own row, over every row and column that is seen."""
    book = book_of(starting(None))
    order = book.table("order")
    assert {v == 0 for v in order["units"].values} == {True, False}
    raw = io.BytesIO(workbook_bytes(book, {}, "letter"))
    sheet = openpyxl.load_workbook(raw)["Order"]
    (shaded,) = sheet.conditional_formatting
    area, (rule,) = str(shaded.sqref), shaded.rules
    heads = {str(c.value): c.coordinate for c in sheet[5]}
    first, last = 8, 7 + order.count
    assert rule.formula == [f"${heads['Order'][:-1]}{first}=0"]
    assert area == f"B{first}:{heads['Cost'][:-1]}{last}"
    assert rule.dxf.font.color.rgb.endswith(FAINT_INK)
