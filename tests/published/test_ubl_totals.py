"""Totals of UBL documents by EN 16931-1:2017, rules BR-CO-10 to BR-CO-17, checked by code of its own.

The rules, as the published validation artefacts of the standard word them (CEN/TC 434, repository
ConnectingEurope/eInvoicing-EN16931, licence EUPL 1.2, example files Apache 2.0):

* BR-CO-10: Sum of Invoice line net amount (BT-106) = Σ Invoice line net amount (BT-131).
* BR-CO-11: Sum of allowances on document level (BT-107) = Σ Document level allowance amount (BT-92).
* BR-CO-12: Sum of charges on document level (BT-108) = Σ Document level charge amount (BT-99).
* BR-CO-13: total without VAT (BT-109) = Σ BT-131 − BT-107 + BT-108.
* BR-CO-14: Invoice total VAT amount (BT-110) = Σ VAT category tax amount (BT-117).
* BR-CO-15: total with VAT (BT-112) = BT-109 + BT-110.
* BR-CO-16: Amount due (BT-115) = BT-112 − Paid amount (BT-113) + Rounding amount (BT-114).
* BR-CO-17: BT-117 = BT-116 × (BT-119 / 100), rounded to two decimals.

The published checker lets BR-CO-17 differ by almost one unit of currency; here it is exact.
The checker below is first shown on totals of three published examples, then on those with a cent changed.
"""

import datetime as dt
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_UP, Decimal
from xml.etree.ElementTree import Element

import pytest
from defusedxml.ElementTree import fromstring
from hypothesis import given
from hypothesis import strategies as st

from estimator.archive import ubl
from estimator.archive.events import Event
from estimator.archive.summary import QuoteLine, Summary, TaxLine, Totals
from estimator.core.errors import InputError
from estimator.core.money import rounded

D = Decimal
CENT = D("0.01")
NS = {
    "cac": "urn:oasis:names:specification:ubl:schema:xsd:CommonAggregateComponents-2",
    "cbc": "urn:oasis:names:specification:ubl:schema:xsd:CommonBasicComponents-2",
}


@dataclass(frozen=True)
class Document:
    """The amounts of one document, by business term."""

    lines: tuple[Decimal, ...]  # BT-131
    allowances: tuple[Decimal, ...]  # BT-92
    charges: tuple[Decimal, ...]  # BT-99
    categories: tuple[tuple[Decimal, Decimal | None, Decimal], ...]  # BT-116, BT-119, BT-117
    bt106: Decimal
    bt107: Decimal
    bt108: Decimal
    bt109: Decimal
    bt110: Decimal
    bt112: Decimal
    bt113: Decimal
    bt114: Decimal
    bt115: Decimal


def broken_rules(d: Document) -> set[str]:
    """Return the names of the rules that the document breaks."""
    rules = {
        "BR-CO-10": d.bt106 == sum(d.lines),
        "BR-CO-11": d.bt107 == sum(d.allowances),
        "BR-CO-12": d.bt108 == sum(d.charges),
        "BR-CO-13": d.bt109 == sum(d.lines) - d.bt107 + d.bt108,
        "BR-CO-14": d.bt110 == sum(tax for _, _, tax in d.categories),
        "BR-CO-15": d.bt112 == d.bt109 + d.bt110,
        "BR-CO-16": d.bt115 == d.bt112 - d.bt113 + d.bt114,
        "BR-CO-17": all(
            tax == (base * (rate or 0) / 100).quantize(CENT, ROUND_HALF_UP)
            for base, rate, tax in d.categories
        ),
    }
    return {name for name, holds in rules.items() if not holds}


def _by_rate(base: Decimal, rate: Decimal | None) -> Decimal:
    return (base * (rate or 0) / 100).quantize(CENT, ROUND_HALF_UP)


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


def _decimals(text: str) -> tuple[Decimal, ...]:
    return tuple(D(t) for t in text.split())


# Amounts of the published examples ubl/examples/ubl-tc434-example{1,2,8}.xml.
EXAMPLE_1 = Document(
    _decimals("19.90 9.85 8.29 14.46 35.00 35.00 10.65 1.55 14.37 8.29 16.58 9.95 3.30 10.80 3.90 7.60 9.34"
              " 18.63 102.12 -109.98"),
    (), (), ((D("183.23"), D(6), D("10.99")), (D("46.37"), D(21), D("9.74"))),
    D("229.60"), D(0), D(0), D("229.60"), D("20.73"), D("250.33"), D(0), D(0), D("250.33"),
)  # fmt: skip
EXAMPLE_2 = Document(
    _decimals("1273.00 -3.96 4.96 -25.00 187.50"), (D("100.00"),), (D("100.00"),),
    ((D("1460.50"), D(25), D("365.13")), (D("1.00"), D(15), D("0.15")), (D("-25.00"), D(0), D("0.00"))),
    D("1436.50"), D("100.00"), D("100.00"), D("1436.50"), D("365.28"), D("1801.78"), D("1000.00"), D(0),
    D("801.78"),
)  # fmt: skip
EXAMPLE_8 = Document(
    _decimals("140.80 16.16 167.64 88.74 36.75 56.50 83.34 190.31 64.21 64.46"),
    (), (), ((D("908.91"), D(21), D("190.87")),),
    D("908.91"), D(0), D(0), D("908.91"), D("190.87"), D("1099.78"), D(0), D(0), D("1099.78"),
)  # fmt: skip
EXAMPLES = {"example1": EXAMPLE_1, "example2": EXAMPLE_2, "example8": EXAMPLE_8}


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
    totals = Totals(price, D(0), D(0), D(0), D(0), price, D(0), D(0), price, total)
    offered = tuple(QuoteLine("s", f"line {i}", D(i + 1), "each", amount) for i, amount in enumerate(lines))
    return Summary(
        "7", 0, "c", "t", "", dt.date(2026, 1, 2), "EUR", totals, taxes, (), D(0), D(0), offered, "0"
    )


def test_our_quotation_of_example_8_has_its_totals() -> None:
    taxes = (TaxLine("VAT", D(21), D("908.91"), D("190.87")),)
    quote = _quote(EXAMPLE_8.lines, D("908.91"), taxes)
    assert read(ubl.quotation(quote)) == EXAMPLE_8
    invoice = Event("7", 1, "invoice", dt.date(2026, 1, 3), D("1099.78"), "1")
    assert read(ubl.invoice(quote, invoice)) == EXAMPLE_8


def test_our_quotation_of_example_1_has_its_totals() -> None:
    """Its two rates are two taxes on a part of the price each."""
    taxes = (TaxLine("VAT", D(6), D("183.23"), D("10.99")), TaxLine("VAT", D(21), D("46.37"), D("9.74")))
    assert read(ubl.quotation(_quote(EXAMPLE_1.lines, D("229.60"), taxes))) == EXAMPLE_1


def test_a_prepaid_invoice_is_due_for_the_rest() -> None:
    """Total and prepaid of example 2."""
    taxes = (TaxLine("VAT", D(25), D("1441.42"), D("360.36")),)
    quote = _quote((D("1441.42"),), D("1441.42"), taxes)
    invoice = Event("7", 1, "invoice", dt.date(2026, 1, 3), D("1801.78"), "1")
    found = read(ubl.invoice(quote, invoice, D("1000.00")))
    assert broken_rules(found) == set()
    assert (found.bt112, found.bt113, found.bt115) == (D("1801.78"), D("1000.00"), D("801.78"))


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
