"""Price rows that the office filled in: kept, used where they name an item, told of in any case."""

from decimal import Decimal as D
from pathlib import Path

import pytest

from estimator.calc.expressions import Value
from estimator.catalogue.load import load
from estimator.intake.cells import cells_of
from estimator.office.edits import Edit, inputs_of, settled
from estimator.pipeline import Estimate, estimate
from estimator.tables.book import book_of
from estimator.workbook.build import workbook_bytes
from estimator.workbook.readback import read_workbook
from tests.workbook.recalculate import compare_with, recalculated_all

JOB = Path(__file__).parents[2] / "examples" / "one_panel" / "job.toml"
ROW: dict[str, Value] = {
    "prices.description.spare-1": "2x2 from another yard",
    "prices.supplier.spare-1": "Birch Row Yard (invented)",
    "prices.item_code.spare-1": "d-101",
    "prices.price.spare-1": D("3.50"),
}


def with_(edits: dict[str, Value]) -> Estimate:
    job, catalogue, _ = load(JOB)
    return estimate(job, catalogue, edits)


def said(one: Estimate) -> list[str]:
    return [p.what for p in one.problems if p.where.startswith("prices,")]


def test_a_row_that_names_an_item_by_its_code_takes_its_place() -> None:
    plain, one = with_({}), with_(ROW)
    prices = book_of(one).table("prices")
    row = prices["item_code"].values.index("D-101")
    assert (prices["price"].values[row], prices["supplier"].values[row]) == (
        D("3.50"),
        ROW["prices.supplier.spare-1"],
    )
    assert one.totals.materials < plain.totals.materials
    assert said(one) == ["'2x2 from another yard' takes the place of member-2x2-8, 3.50 for 4.38"]


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        ({"prices.item_code.spare-1": "X-9"}, "names no item of the price list"),
        ({"prices.item_code.spare-1": None}, "names no item of the price list"),
        ({"prices.price.spare-1": None}, "it has no price"),
        ({"prices.content.spare-1": D(2)}, "it holds something else"),
        (
            {"prices.content.spare-1": D(2), "prices.content_unit.spare-1": "litres"},
            "it holds something else",
        ),
    ],
)
def test_a_row_that_cannot_be_used_is_kept_and_said(change: dict[str, Value], reason: str) -> None:
    one = with_({**ROW, **change})
    assert one.totals == with_({}).totals
    (what,) = said(one)
    assert reason in what
    assert "spare-1" in book_of(one).table("prices")["key"].values


def test_the_same_content_in_words_is_the_same() -> None:
    one = with_({**ROW, "prices.content.spare-1": D(1), "prices.content_unit.spare-1": "ea"})
    assert "takes the place" in said(one)[0]


def test_a_price_written_on_the_items_own_row_goes_before() -> None:
    own: dict[str, Value] = {"prices.price.member-2x2-8": D("4.00")}
    assert with_({**ROW, **own}).totals.materials == with_(own).totals.materials


def test_the_row_comes_back_from_the_next_workbook_and_stays_open(tmp_path: Path) -> None:
    book = book_of(with_(ROW))
    (tmp_path / "book.xlsx").write_bytes(workbook_bytes(book, {"job_id": "2026-001"}, "letter"))
    back = read_workbook(cells_of(tmp_path / "book.xlsx"), book, "2026-001")
    assert {k: back.inputs[k] for k in ROW} == ROW
    assert back.inputs == back.issued
    assert back.inputs["prices.price.spare-6"] is None
    assert not [k for k in back.inputs if k.startswith("pack_steps")]
    (values,) = recalculated_all([tmp_path / "book.xlsx"], "ironcalc")
    assert compare_with(book, values) == ()


def test_more_rows_than_the_first_workbook_had_are_no_conflict() -> None:
    edits = [Edit(f"prices.price.spare-{n}", None, D(n)) for n in range(1, 10)]
    assert settled(edits, inputs_of(book_of(with_({})))) == (tuple(edits), ())
