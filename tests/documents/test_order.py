"""The order: by supplier, in units bought, without our prices unless asked."""

import datetime as dt
from decimal import Decimal
from pathlib import Path

import pytest

from estimator.calc.evaluation import number
from estimator.catalogue.load import Instead, load
from estimator.documents.files import Wishes
from estimator.documents.order import order
from estimator.pipeline import estimate
from tests.documents.made import EXAMPLES, pages, pages_of, text_of
from tests.examples import estimate_of

JOBS = Path(__file__).parents[2] / "examples"


@pytest.mark.parametrize("name", EXAMPLES)
def test_everything_bought_is_ordered_once_from_its_supplier(name: str) -> None:
    made = estimate_of(name)
    table = made.scope.takeoff.tables["purchases"]
    bought = dict[str, Decimal]()
    for key, units in zip(table["item"].values, table["units"].values, strict=True):
        if units:
            code = made.catalogue.item(str(key)).item_code
            bought[code] = bought.get(code, Decimal(0)) + Decimal(str(units))
    ordered: dict[str, Decimal] = {}
    for supplier in order(made)["suppliers"]:
        for row in supplier["rows"]:
            ordered[row["code"]] = ordered.get(row["code"], Decimal(0)) + row["units"]
            assert (
                next(i for i in made.catalogue.items if i.item_code == row["code"]).supplier
                == supplier["name"]
            )
    assert ordered == bought


def test_no_price_is_shown_unless_asked_for() -> None:
    made = estimate_of("one_panel")
    price = "Expected, tax left out"
    assert price not in pages("one_panel")["order"]
    assert "CAD" not in text_of(pages("one_panel")["order"])
    asked = text_of(pages_of(made, Wishes(order_prices=True))["order"])
    assert price in asked
    total = sum((s["total"] for s in order(made)["suppliers"]), Decimal(0))
    assert total == sum(map(number, made.scope.takeoff.tables["purchases"]["cost"].values))  # whole packs


def test_cloth_is_asked_for_in_one_dye_lot() -> None:
    text = text_of(pages("chapel_annex")["order"])
    assert "colour moss: all of one dye lot" in text
    assert "If one lot cannot cover the order, call before cutting" in text


def test_a_supplier_learns_nothing_of_the_client() -> None:
    made = estimate_of("one_panel")
    for word in (made.job.header.client, made.job.header.site, made.job.header.title):
        assert word not in pages("one_panel")["order"]


def test_an_agreed_start_says_when_the_order_goes_out() -> None:
    start = dt.date(2026, 4, 13)
    job, catalogue, _ = load(JOBS / "one_panel" / "job.toml", instead=Instead({"start": start}))
    made = estimate(job, catalogue)
    cloth = next(s for s in order(made)["suppliers"] if any(r["lot"] for r in s["rows"]))
    # 10 working days for cloth in the shipped list: Monday 13 April less two weeks.
    assert cloth["order_by"] == dt.date(2026, 3, 30)
    text = text_of(pages_of(made, Wishes())["order"])
    assert "Wanted by 13 April 2026" in text
    assert "the order goes out by 30 March 2026" in text
    assert "Wanted by" not in text_of(pages("one_panel")["order"])
