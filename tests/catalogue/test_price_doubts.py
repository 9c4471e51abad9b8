"""What is doubtful in a price list that can be read."""

import datetime as dt
from dataclasses import replace
from decimal import Decimal as D

import pytest

from estimator.catalogue.load import DATA
from estimator.catalogue.price_list import dated, doubts, read_price_list, unit_price
from estimator.catalogue.records import Item

DAY = dt.date(2026, 3, 1)


def shipped() -> list[Item]:
    return list(read_price_list(DATA / "prices.csv"))


def test_the_shipped_list_is_not_doubted_in_its_season() -> None:
    assert doubts(shipped(), "prices.csv") == []
    assert dated(shipped(), DAY, 180) == ()


def test_old_and_future_prices_are_named_with_their_first_line_by_supplier_and_date() -> None:
    """1 January 2025 to 1 March 2026 are 365 + 59 days."""
    items = shipped()
    items[2] = replace(items[2], price_date=dt.date(2025, 1, 1))
    items[5] = replace(items[5], price_date=dt.date(2026, 3, 2))
    items[3] = replace(items[3], price_date=dt.date(2025, 1, 1))
    assert items[2].supplier == items[3].supplier == items[5].supplier
    old, ahead = dated(items, DAY, 180)
    assert (old.line, old.age_days, old.keys) == (items[2].line, 424, (items[2].key, items[3].key))
    assert (ahead.line, ahead.age_days, ahead.keys) == (items[5].line, -1, (items[5].key,))
    said = [str(group.problem("p.csv")) for group in (old, ahead)]
    assert said == [
        f"p.csv:{old.line}: {old.supplier}: 2 prices of 2025-01-01, 424 days old. Ask for them again.",
        f"p.csv:{ahead.line}: {ahead.supplier}: 1 price dated 2026-03-02, 1 days ahead. Check the date.",
    ]


def test_an_unknown_section_is_named() -> None:
    items = shipped()
    items[0] = replace(items[0], cost_code="09 99 98")
    (found,) = doubts(items, "p.csv")
    assert "09 99 98 is not known here" in found.what


@pytest.mark.parametrize("slip", ["10", "0.1"])
def test_a_slipped_digit_in_a_price_is_doubted(slip: str) -> None:
    items = shipped()
    sizes = [n for n, item in enumerate(items) if item.product == items[0].product]
    assert len(sizes) >= 3
    items[0] = replace(items[0], price=items[0].price * D(slip))
    (found,) = doubts(items, "p.csv")
    assert (found.line, found.where) == (items[0].line, f"{items[0].key}.content")


def test_unit_price_of_a_stick_is_by_its_length() -> None:
    # 8 ft = 2.4384 m at 4.38: 1.796 a metre.
    stick = next(i for i in shipped() if i.key == "member-2x2-8")
    assert float(unit_price(stick)) == pytest.approx(4.38 / 2.4384)


def test_of_two_sizes_far_apart_both_are_named() -> None:
    """A board at 920.00 beside a pack of six at 48.60: 8.10 a board; either may be wrong."""
    items = shipped()
    at = next(n for n, item in enumerate(items) if item.key == "board-48-1-each")
    items[at] = replace(items[at], price=D("920.00"))
    found = [p for p in doubts(items, "p.csv") if p.where.endswith(".content")]
    assert [p.where for p in found] == ["board-48-1-each.content", "board-48-1-pack.content"]
    assert "costs 114 times the other size" in found[0].what
