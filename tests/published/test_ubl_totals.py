"""Totals of UBL documents by EN 16931-1:2017, rules BR-CO-10 to BR-CO-17, checked by code of its own.

The checker is first shown on the totals of every published example, then on those with a cent changed.
"""

import datetime as dt
from dataclasses import replace
from decimal import Decimal
from xml.etree.ElementTree import Element

import pytest
from defusedxml.ElementTree import fromstring
from hypothesis import given
from hypothesis import strategies as st

from estimator.archive import ubl
from estimator.archive.events import Event
from estimator.archive.summary import FiledTotals, QuoteLine, Summary, TaxLine
from estimator.core.errors import InputError
from estimator.core.money import rounded
from tests.published.en16931 import CENT, EXAMPLES, Document, broken_rules

D = Decimal
NS = {
    "cac": "urn:oasis:names:specification:ubl:schema:xsd:CommonAggregateComponents-2",
    "cbc": "urn:oasis:names:specification:ubl:schema:xsd:CommonBasicComponents-2",
}


def read(xml: bytes) -> Document:
    """Return the amounts in a UBL Quotation or Invoice. Two taxes are two TaxTotals, added up."""
    root = fromstring(xml)
    total = root.find("cac:LegalMonetaryTotal", NS)
    total = root.find("cac:QuotedMonetaryTotal", NS) if total is None else total
    assert total is not None
    lines = root.findall("cac:InvoiceLine/cbc:LineExtensionAmount", NS)
    lines += root.findall("cac:QuotationLine/cac:LineItem/cbc:LineExtensionAmount", NS)
    adjusted = _all(root, "AllowanceCharge")
    amounts = [D(_text(a, "cbc:Amount")) for a in adjusted]
    is_charge = [_text(a, "cbc:ChargeIndicator") == "true" for a in adjusted]
    return Document(
        lines=tuple(D(line.text or "") for line in lines),
        allowances=tuple(a for a, charge in zip(amounts, is_charge, strict=True) if not charge),
        charges=tuple(a for a, charge in zip(amounts, is_charge, strict=True) if charge),
        categories=tuple(_category(c) for c in root.findall("cac:TaxTotal/cac:TaxSubtotal", NS)),
        bt106=_amount(total, "LineExtensionAmount"),
        bt107=_amount(total, "AllowanceTotalAmount"),
        bt108=_amount(total, "ChargeTotalAmount"),
        bt109=_amount(total, "TaxExclusiveAmount"),
        bt110=sum((_amount(t, "TaxAmount") for t in _all(root, "TaxTotal")), D(0)),
        bt112=_amount(total, "TaxInclusiveAmount"),
        bt113=_amount(total, "PrepaidAmount"),
        bt114=_amount(total, "PayableRoundingAmount"),
        bt115=_amount(total, "PayableAmount"),
    )


def _amount(node: Element, name: str) -> Decimal:
    return D(_text(node, f"cbc:{name}", "0"))


def _all(root: Element, name: str) -> list[Element]:
    return root.findall(f"cac:{name}", NS)


def _text(node: Element, path: str, otherwise: str | None = None) -> str:
    found = node.findtext(path, otherwise, NS)
    assert found is not None, path
    return found


def _category(node: Element) -> tuple[Decimal, Decimal | None, Decimal]:
    rate = node.findtext("cac:TaxCategory/cbc:Percent", None, NS)
    return (
        D(_text(node, "cbc:TaxableAmount")),
        None if rate is None else D(rate),
        D(_text(node, "cbc:TaxAmount")),
    )


@pytest.mark.parametrize("example", EXAMPLES.values(), ids=EXAMPLES.keys())
def test_the_checker_finds_no_fault_in_the_published_examples(example: Document) -> None:
    assert broken_rules(example) == set()


@pytest.mark.parametrize(
    ("term", "rules"),
    [
        ("bt106", {"BR-CO-10"}),
        ("bt107", {"BR-CO-11", "BR-CO-13"}),
        ("bt108", {"BR-CO-12", "BR-CO-13"}),
        ("bt109", {"BR-CO-13", "BR-CO-15"}),
        ("bt110", {"BR-CO-14", "BR-CO-15"}),
        ("bt112", {"BR-CO-15", "BR-CO-16"}),
        ("bt113", {"BR-CO-16"}),
        ("bt114", {"BR-CO-16"}),
        ("bt115", {"BR-CO-16"}),
    ],
)
@pytest.mark.parametrize("example", EXAMPLES.values(), ids=EXAMPLES.keys())
def test_the_checker_finds_one_cent(example: Document, term: str, rules: set[str]) -> None:
    assert broken_rules(replace(example, **{term: getattr(example, term) + CENT})) == rules


@pytest.mark.parametrize("example", EXAMPLES.values(), ids=EXAMPLES.keys())
def test_the_checker_finds_one_cent_in_a_tax(example: Document) -> None:
    base, rate, tax = example.categories[0]
    changed = replace(example, categories=((base, rate, tax + CENT), *example.categories[1:]))
    assert broken_rules(changed) == {"BR-CO-14", "BR-CO-17"}


def _quote(lines: tuple[Decimal, ...], price: Decimal, taxes: tuple[TaxLine, ...]) -> Summary:
    total = price + sum((t.amount for t in taxes), D(0))
    totals = FiledTotals(price, D(0), D(0), D(0), D(0), price, D(0), D(0), price, total)
    offered = tuple(QuoteLine("s", f"line {i}", D(i + 1), "each", amount) for i, amount in enumerate(lines))
    return Summary(
        "7", 0, "c", "t", "", dt.date(2026, 1, 2), "EUR", totals, taxes, (), D(0), D(0), offered, "0"
    )


def _taxes_of(example: Document) -> tuple[TaxLine, ...]:
    """Return its tax categories as taxes on a part of the price each."""
    return tuple(TaxLine(f"T{i}", r or D(0), b, t) for i, (b, r, t) in enumerate(example.categories))


@pytest.mark.parametrize("example", EXAMPLES.values(), ids=EXAMPLES.keys())
def test_our_quotation_of_an_example_has_its_totals(example: Document) -> None:
    """We write the difference of its charges and allowances as one; a quotation has nothing paid."""
    found = read(ubl.quotation(_quote(example.lines, example.bt109, _taxes_of(example))))
    assert broken_rules(found) == set()
    assert (found.lines, found.categories, found.bt106) == (example.lines, example.categories, example.bt106)
    assert found.bt108 - found.bt107 == example.bt108 - example.bt107
    assert (found.bt109, found.bt110, found.bt112) == (example.bt109, example.bt110, example.bt112)


INVOICES = {name: example for name, example in EXAMPLES.items() if example.bt112 > 0}
"""A credit is another document in UBL, which the archive does not write."""


@pytest.mark.parametrize("example", INVOICES.values(), ids=INVOICES.keys())
def test_our_invoice_of_an_example_is_due_for_what_is_not_paid(example: Document) -> None:
    quote = _quote(example.lines, example.bt109, _taxes_of(example))
    event = Event("7", 1, "invoice", dt.date(2026, 1, 3), example.bt112, "1")
    found = read(ubl.invoice(quote, event, example.bt113))
    assert broken_rules(found) == set()
    assert (found.categories, found.bt112, found.bt113, found.bt115) == (
        example.categories, example.bt112, example.bt113, example.bt115,
    )  # fmt: skip


cents = st.integers(-10_000_00, 50_000_00).map(lambda n: D(n) / 100)
rates = st.sampled_from([D(5), D(7), D(13), D(14), D("9.975"), D(0), D(21)])


@given(st.lists(cents, min_size=1, max_size=8), st.integers(0, 500_00), st.lists(rates, max_size=2))
def test_every_quotation_keeps_every_rule(lines: list[Decimal], off: int, percents: list[Decimal]) -> None:
    price = sum(lines, D(0)) - D(off) / 100
    taxes = tuple(
        TaxLine(f"T{i}", rate, price, rounded(price * rate / 100)) for i, rate in enumerate(percents)
    )
    quote = _quote(tuple(lines), price, taxes)
    found = read(ubl.quotation(quote))
    assert broken_rules(found) == set()
    assert found.bt115 == quote.totals.total


@given(st.integers(1, 90_000_00), st.integers(1, 90_000_00), st.lists(rates, max_size=2))
def test_every_invoice_keeps_every_rule_and_bills_its_amount(
    price: int, bill: int, percents: list[Decimal]
) -> None:
    net = D(price) / 100
    taxes = tuple(TaxLine(f"T{i}", r, net, rounded(net * r / 100)) for i, r in enumerate(percents))
    quote = _quote((net,), net, taxes)
    found = read(ubl.invoice(quote, Event("7", 1, "invoice", dt.date(2026, 1, 3), D(bill) / 100, "1")))
    assert broken_rules(found) == set()
    assert found.bt115 == D(bill) / 100
    assert abs(found.bt114) <= CENT * max(1, len(taxes))


def test_a_tax_that_is_not_its_rate_is_refused() -> None:
    quote = _quote((D(100),), D(100), (TaxLine("HST", D(13), D(100), D("13.01")),))
    with pytest.raises(InputError, match="HST"):
        ubl.quotation(quote)
