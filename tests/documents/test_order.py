"""The order: by supplier, in units bought, without our prices unless asked."""

from decimal import Decimal

import pytest

from estimator.documents.files import Wishes
from estimator.documents.order import order
from tests.documents.made import EXAMPLES, estimate_of, pages, pages_of, text_of


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
    assert total == made.totals.materials


def test_cloth_is_asked_for_in_one_dye_lot() -> None:
    text = text_of(pages("chapel_annex")["order"])
    assert "colour moss: all of one dye lot" in text
    assert "If one lot cannot cover the order, call before cutting" in text


def test_a_supplier_learns_nothing_of_the_client() -> None:
    made = estimate_of("one_panel")
    for word in (made.job.header.client, made.job.header.site, made.job.header.title):
        assert word not in pages("one_panel")["order"]
