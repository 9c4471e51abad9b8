"""Totals by EN 16931-1:2017: the published examples, and the rules BR-CO-10 to BR-CO-17 on any price.

Source: ConnectingEurope/eInvoicing-EN16931, ubl/examples (EUPL 1.2), see `tests/published/en16931`.

BR-CO-10 sum of lines, BR-CO-13 total without tax = lines - allowances + charges, BR-CO-14 tax = sum of tax
lines, BR-CO-15 total = total without tax + tax, BR-CO-16 due = total - paid, BR-CO-17 each tax = base x rate
rounded to two decimals: exact here, where the published checker lets it differ by almost one unit of money.
"""

import datetime as dt
from decimal import ROUND_HALF_UP
from decimal import Decimal as D
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.calc.tables import Draft
from estimator.catalogue.terms import Terms
from estimator.pricing.cases import DirectCost
from estimator.pricing.totals import Totals, reckon_price
from tests.published.en16931 import CENT, EXAMPLES, Document

DAY = dt.date(2026, 11, 25)
PARTS = ("materials", "labour", "other")


def tax(rate: str, base: str = "price") -> dict[str, Any]:
    dated = {"since": dt.date(2000, 1, 1), "authority": "any", "source": "example"}
    return {"name": f"VAT {rate} {base}", "rate": f"{rate} %", "base": base, **dated}


def quote(parts: tuple[D, D, D], taxes: list[dict[str, Any]], **changes: Any) -> Totals:
    draft = Draft("given", "Given", "across")
    for key, value in zip(("given_materials", "given_labour", "given_other"), parts, strict=True):
        draft.input(key, key, "EUR", [value])
    plain = {"schema": 1, "name": "t", "profit": {"markup": "0 %"}, "overhead": "0 %", "tax": taxes,
             "contingency": {"rate": "0 %"}, "validity_days": 30,
             "payment": [{"label": "all", "share": "100 %", "when": "then"}]}  # fmt: skip
    direct = DirectCost(*(field.at() for field in draft.fields))
    terms = Terms.model_validate(plain | changes)
    return reckon_price(direct, terms, day=DAY, currency="EUR").totals()


PRICES = {name: e for name, e in EXAMPLES.items() if all(base >= 0 for base, _, _ in e.categories)}
"""No part of a cost is a credit; those that hold one are checked as documents, in `test_ubl_totals`."""


@pytest.mark.parametrize("example", PRICES.values(), ids=PRICES.keys())
def test_the_taxes_of_an_example_on_a_price_of_its_parts(example: Document) -> None:
    """Each rate of an example is on a part of the price of its own; what it does not tax is one more part."""
    taxed = [category for category in example.categories if category[1]]
    bases = [base for base, _, _ in taxed]
    parts = [*bases, example.bt109 - sum(bases, D(0)), D(0), D(0)]
    rates = [tax(str(rate), part) for (_, rate, _), part in zip(taxed, PARTS, strict=False)]
    got = quote((parts[0], parts[1], parts[2]), rates)
    assert [(t.base, t.amount) for t in got.taxes] == [(base, amount) for base, _, amount in taxed]
    assert (got.price, got.tax, got.total) == (example.bt109, example.bt110, example.bt112)


@pytest.mark.parametrize("name", [name for name, e in PRICES.items() if len(e.categories) == 1])
def test_one_rate_on_the_whole_price(name: str) -> None:
    ((base, rate, amount),) = PRICES[name].categories
    got = quote((base, D(0), D(0)), [tax(str(rate))])
    assert (got.taxes[0].amount, got.total) == (amount, PRICES[name].bt112)


def test_half_paid_in_advance() -> None:
    # example5: half of 4675.00 prepaid, 2337.50 due.
    halves = [{"label": n, "share": "50 %", "when": "then"} for n in ("prepaid", "due")]
    got = quote((D(1500), D(2500), D(0)), [tax("25", "materials"), tax("12", "labour")], payment=halves)
    assert [p.amount for p in got.payments] == [D("2337.50"), D("2337.50")]


amounts = st.integers(0, 5_000_000).map(lambda n: D(n) / 100)
rates = st.integers(0, 30_000).map(lambda n: f"{D(n) / 1000:f}")


@given(
    st.tuples(amounts, amounts, amounts),
    st.lists(rates, max_size=3),
    st.integers(0, 400),
    st.integers(0, 400),
)
def test_the_rules_hold_on_any_price(
    parts: tuple[D, D, D], lines: list[str], margin: int, discount: int
) -> None:
    changes = {"profit": {"margin": f"{D(margin) / 10:f} %"}, "discount": f"{D(discount) / 10:f} %",
               "overhead": "12.5 %", "rounding": "5.00"}  # fmt: skip
    got = quote(parts, [tax(r) for r in lines], **changes)
    assert got.direct == got.materials + got.labour + got.other
    assert got.cost == got.direct + got.overhead + got.contingency
    assert got.full_price == got.cost + got.profit_asked
    assert got.price == got.full_price - got.discount + got.rounding  # BR-CO-13
    assert got.tax == sum((t.amount for t in got.taxes), D(0))  # BR-CO-14
    assert got.total == got.price + got.tax  # BR-CO-15
    assert got.total - sum((p.amount for p in got.payments), D(0)) == 0  # BR-CO-16
    for line in got.taxes:  # BR-CO-17
        assert line.amount == (line.base * line.rate).quantize(CENT, ROUND_HALF_UP)
    for amount in (got.direct, got.overhead, got.cost, got.price, got.discount, got.tax, got.total):
        assert amount == amount.quantize(CENT)
