"""Totals by EN 16931-1:2017: the published examples, and the rules BR-CO-10 to BR-CO-17 on any price.

Source: ConnectingEurope/eInvoicing-EN16931, ubl/examples (EUPL 1.2): ubl-tc434-example1, -example5,
-example8; amounts and percentages only. Read there.

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
from estimator.pricing.price import reckon_price
from estimator.pricing.totals import Totals

DAY = dt.date(2026, 11, 25)
CENT = D("0.01")


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


@pytest.mark.parametrize(("parts", "rates", "amounts", "total"), [
    # example1: 183.23 at 6 % and 46.37 at 21 %
    (("183.23", "46.37"), ("6", "21"), ("10.99", "9.74"), "250.33"),
    # example5: 1500.00 at 25 % and 2500.00 at 12 %
    (("1500.00", "2500.00"), ("25", "12"), ("375.00", "300.00"), "4675.00"),
])  # fmt: skip
def test_two_rates_on_two_bases(
    parts: tuple[str, str], rates: tuple[str, str], amounts: tuple[str, str], total: str
) -> None:
    got = quote((D(parts[0]), D(parts[1]), D(0)), [tax(rates[0], "materials"), tax(rates[1], "labour")])
    assert [t.amount for t in got.taxes] == [D(a) for a in amounts]
    assert [t.base for t in got.taxes] == [D(p) for p in parts]
    assert got.tax == sum(D(a) for a in amounts)
    assert got.total == D(total)


def test_one_rate_on_the_whole() -> None:
    # example8: 908.91 at 21 % is 190.87; 1099.78 in all.
    got = quote((D("908.91"), D(0), D(0)), [tax("21")])
    assert (got.taxes[0].amount, got.total) == (D("190.87"), D("1099.78"))


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
