"""Taxes as governments' own examples and tables work them out. Rates are dated: confirm before use.

Sources, beside each check: Canada Revenue Agency, interpretation case 125136 (2011), Excise Tax Act
165.2(2); Canada, Budget 2012, worked example of cash rounding, up to the total that is rounded; table of
provincial rates of 2026; Texas Administrative Code 34 TAC 3.291. Provincial bulletins on real-property
contractors: from memory.
"""

import datetime as dt
from decimal import Decimal as D
from typing import Any

import pytest

from estimator.calc.tables import Draft
from estimator.catalogue.layers import shipped
from estimator.catalogue.load import DATA, read_terms
from estimator.catalogue.terms import Terms
from estimator.pricing.cases import DirectCost
from estimator.pricing.totals import Totals, reckon_price

DAY = dt.date(2026, 11, 25)


def tax(name: str, rate: str, base: str = "price", **more: Any) -> dict[str, Any]:
    dated = {"since": dt.date(2000, 1, 1), "authority": "any", "source": "example"}
    return {"name": name, "rate": rate, "base": base, **dated, **more}


PLAIN = {"schema": 1, "name": "t", "profit": {"markup": "0 %"}, "overhead": "0 %",
         "contingency": {"rate": "0 %"}, "validity_days": 30,
         "payment": [{"label": "all", "share": "100 %", "when": "then"}]}  # fmt: skip


def quote(price: str, *taxes: dict[str, Any], labour: str = "0.00") -> Totals:
    return on_terms(Terms.model_validate(PLAIN | {"tax": list(taxes)}), price, labour)


def on_terms(terms: Terms, materials: str, labour: str = "0.00") -> Totals:
    draft = Draft("given", "Given", "across")
    for key, value in zip(
        ("given_materials", "given_labour", "given_other"), (materials, labour, "0"), strict=True
    ):
        draft.input(key, key, "CAD", [D(value)])
    direct = DirectCost(*(field.at() for field in draft.fields))
    return reckon_price(direct, terms, day=DAY, currency="CAD").totals()


def test_harmonized_tax_on_31_95() -> None:
    # CRA interpretation case 125136: 13 % of 31.95 is 4.1535, rounded 4.15.
    assert quote("31.95", tax("HST", "13 %")).tax == D("4.15")


def test_budget_2012_example_before_cash_rounding() -> None:
    # Coffee 1.83 and a sandwich 2.86, GST 5 %: 4.92.
    assert quote("4.69", tax("GST", "5 %")).total == D("4.92")


@pytest.mark.parametrize(
    ("name", "amounts"),
    [
        ("default", {"HST": "130.00"}),  # Ontario: table of provincial rates of 2026
        ("gst-pst", {"GST": "50.00", "PST": "70.00"}),  # British Columbia: the same table
        ("gst-qst", {"GST": "50.00", "QST": "99.75"}),  # Quebec, 9.975 %: from memory
        ("vat-19", {"VAT": "190.00"}),  # Germany, Umsatzsteuergesetz section 12 (1): from memory
        ("vat-20", {"VAT": "200.00"}),  # United Kingdom, Value Added Tax Act 1994 s. 2: from memory
        ("none", {}),
    ],
)
def test_the_taxes_of_shipped_terms_on_1000(name: str, amounts: dict[str, str]) -> None:
    shipped_taxes = read_terms(DATA / "terms" / f"{name}.toml").taxes
    got = on_terms(Terms.model_validate(PLAIN).model_copy(update={"taxes": shipped_taxes}), "1000.00")
    assert {t.name: t.amount for t in got.taxes} == {tax: D(amount) for tax, amount in amounts.items()}


def test_contractor_pays_tax_on_materials_and_none_on_the_lump_sum() -> None:
    # 34 TAC 3.291 (lump-sum contract): the contractor pays tax on materials, the price bears none.
    # The same default for a real-property contractor in the PST provinces (bulletins, from memory).
    got = quote("400.00", tax("sales tax", "8.25 %", "materials", inside=True), labour="600.00")
    assert (got.tax, got.taxes) == (D(0), ())
    assert got.purchase_taxes[0].amount == D("33.00")
    assert got.other == D("33.00")
    assert got.price == D("1033.00")


def test_gst_beside_provincial_tax_on_purchases() -> None:
    # Materials 400.00, PST 7 % paid on them 28.00, in the price of 1028.00; GST 5 % of that 51.40.
    pst = tax("PST", "7 %", "materials", inside=True)
    got = quote("400.00", tax("GST", "5 %"), pst, labour="600.00")
    assert (got.price, got.tax, got.total) == (D("1028.00"), D("51.40"), D("1079.40"))


@pytest.mark.parametrize(("value", "wanted"), [("1.005", "1.01"), ("2.675", "2.68"), ("0.125", "0.13")])
def test_a_half_cent_of_tax_rounds_up(value: str, wanted: str) -> None:
    # Own arithmetic; a binary fraction would give 1.00, 2.67 and 0.12.
    assert quote(str(D(value) * 20), tax("GST", "5 %")).tax == D(wanted)


@pytest.mark.parametrize(("steps", "wanted"), [("0.05", "0.25"), ("1.00", "0")])
def test_each_tax_has_its_own_rounding(steps: str, wanted: str) -> None:
    # 5 % of 4.69 is 0.2345.
    assert quote("4.69", tax("GST", "5 %", rounding=steps)).tax == D(wanted)


@pytest.mark.parametrize("name", shipped("terms"))
def test_shipped_terms_make_a_price(name: str) -> None:
    got = on_terms(read_terms(DATA / "terms" / f"{name}.toml"), "1000.00", "500.00")
    assert got.total == got.price + got.tax
    assert got.total == sum((p.amount for p in got.payments), D(0))
    assert got.price > got.cost
