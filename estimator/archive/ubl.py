"""A quote as a UBL 2.1 Quotation and an invoice as a UBL 2.1 Invoice.

Source: OASIS Universal Business Language 2.1 (2013), documents Quotation and Invoice. Totals follow the
arithmetic of EN 16931-1:2017, rules BR-CO-10 to BR-CO-17, exactly; each tax of the quote is a TaxTotal of
its own, so that these hold for two taxes as well. Nothing else of that standard is claimed.
"""

import tomllib
import xml.etree.ElementTree as ET  # only written here, never read
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from importlib import resources

from estimator.archive.events import Event
from estimator.archive.shares import SplitAmount, share
from estimator.archive.summary import QuoteLine, Summary, TaxLine
from estimator.core.errors import InputError, Problem, refuse_all
from estimator.core.money import rounded

URN = "urn:oasis:names:specification:ubl:schema:xsd:"
CAC, CBC = f"{URN}CommonAggregateComponents-2", f"{URN}CommonBasicComponents-2"
COMMERCIAL_INVOICE = "380"  # Source: UN/CEFACT code list 1001, document name
NOTHING = Decimal(0)
Node = ET.Element


@dataclass(frozen=True, slots=True)
class DocumentTotals:
    """The totals of one document by EN 16931: the attribute's business term stands beside it."""

    lines: Decimal  # BT-106
    allowances: Decimal  # BT-107
    charges: Decimal  # BT-108
    without_tax: Decimal  # BT-109
    tax: Decimal  # BT-110
    with_tax: Decimal  # BT-112
    paid: Decimal  # BT-113
    rounding: Decimal  # BT-114
    due: Decimal  # BT-115


def document_totals(lines: Sequence[QuoteLine], part: SplitAmount, paid: Decimal = NOTHING) -> DocumentTotals:
    """Return the totals of a document that bills `part`, its lines adjusted to the net amount.

    Raises:
        InputError: a tax is not its rate on its base, rounded to the cent (BR-CO-17).
    """
    refuse_all(
        [
            Problem(
                f"tax {t.name}", f"{t.rate_percent} % of {t.base} is not {t.amount}", "Check the tax profile."
            )
            for t in part.taxes
            if rounded(t.base * t.rate_percent / 100) != t.amount
        ]
    )
    net = sum((line.amount for line in lines), NOTHING)
    allowances, charges = max(net - part.net, NOTHING), max(part.net - net, NOTHING)
    without = net - allowances + charges
    with_tax = without + part.tax
    due = with_tax - paid + part.rounding
    return DocumentTotals(net, allowances, charges, without, part.tax, with_tax, paid, part.rounding, due)


def quotation(quote: Summary) -> bytes:
    """Return the quote as a UBL 2.1 Quotation.

    Raises:
        InputError: a tax does not follow from its rate and base.
    """
    part = SplitAmount(quote.totals.total, quote.totals.price, quote.taxes, NOTHING)
    totals = document_totals(quote.lines, part)
    steps = [_cbc("Description", f"{p.label}: {p.amount} {quote.currency}") for p in quote.payments]
    until = quote.valid_until
    return _document("Quotation", [
        _cbc("UBLVersionID", "2.1"),
        _cbc("ID", f"{quote.number}-r{quote.revision or 0}"),
        _cbc("IssueDate", quote.date.isoformat()),
        _cbc("Note", quote.title),
        _cbc("PricingCurrencyCode", quote.currency),
        _cac("ValidityPeriod", _cbc("EndDate", until.isoformat())) if until else None,
        _cac("SellerSupplierParty", _seller(quote)),
        _cac("BuyerCustomerParty", _party(quote.client)),
        _cac("Delivery", _cac("DeliveryAddress", _address_line(quote.site))) if quote.site.strip() else None,
        _cac("TransactionConditions", *steps) if steps else None,
        *_adjustments(totals, part, quote),
        *_taxes(part, quote),
        _monetary("QuotedMonetaryTotal", totals, quote.currency),
        *(_quotation_line(i, line, part, quote) for i, line in enumerate(quote.lines, 1)),
    ])  # fmt: skip


def invoice(quote: Summary, event: Event, paid: Decimal = NOTHING) -> bytes:
    """Return a filed invoice as a UBL 2.1 Invoice.

    Args:
        quote: the quote it belongs to. An invoice of the whole quote has its lines, any other has one.
        event: the invoice as filed.
        paid: what was paid against it already.

    Raises:
        InputError: a credit, which UBL writes as another document; or a tax that does not follow.
    """
    if event.kind != "invoice" or event.amount < 0:
        what, fix = "is no invoice of a positive amount", "Only those are written as a UBL Invoice."
        raise InputError([Problem(f"{event.kind} {event.reference}", what, fix)])
    part = share(quote, event.amount)
    whole = event.amount == quote.totals.total
    one = QuoteLine("", f"Invoice on quote {quote.number}: {quote.title}", Decimal(1), "", part.net)
    lines = quote.lines if whole else (one,)
    totals = document_totals(lines, part, paid)
    return _document("Invoice", [
        _cbc("UBLVersionID", "2.1"),
        _cbc("ID", event.reference),
        _cbc("IssueDate", event.date.isoformat()),
        _cbc("InvoiceTypeCode", COMMERCIAL_INVOICE),
        _cbc("Note", event.note) if event.note.strip() else None,
        _cbc("DocumentCurrencyCode", quote.currency),
        _cac("OriginatorDocumentReference", _cbc("ID", f"{quote.number}-r{quote.revision or 0}")),
        _cac("AccountingSupplierParty", _seller(quote)),
        _cac("AccountingCustomerParty", _party(quote.client)),
        _cac("Delivery", _cac("DeliveryAddress", _address_line(quote.site))) if quote.site.strip() else None,
        *_adjustments(totals, part, quote),
        *_taxes(part, quote),
        _monetary("LegalMonetaryTotal", totals, quote.currency),
        *(_invoice_line(i, line, part, quote) for i, line in enumerate(lines, 1)),
    ])  # fmt: skip


def _document(name: str, children: Iterable[Node | None]) -> bytes:
    for prefix, urn in (("", URN + f"{name}-2"), ("cac", CAC), ("cbc", CBC)):
        ET.register_namespace(prefix, urn)
    root = ET.Element(f"{{{URN}{name}-2}}{name}")
    root.extend(child for child in children if child is not None)
    ET.indent(root)
    text: bytes = ET.tostring(root, encoding="utf-8", xml_declaration=True)
    return text + b"\n"


def _cbc(name: str, text: str, **attributes: str) -> Node:
    node = ET.Element(f"{{{CBC}}}{name}", attributes)
    node.text = "".join(c for c in text if _allowed(c))
    return node


def _allowed(character: str) -> bool:
    """Return whether XML 1.0 can hold the character. Source: W3C XML 1.0 (5th ed.), production 2."""
    code = ord(character)
    return code in {9, 10, 13} or 0x20 <= code <= 0xD7FF or 0xE000 <= code <= 0xFFFD or code >= 0x10000  # noqa: PLR2004


def _cac(name: str, *children: Node | None) -> Node:
    node = ET.Element(f"{{{CAC}}}{name}")
    node.extend(child for child in children if child is not None)
    return node


def _money(name: str, amount: Decimal, quote: Summary) -> Node:
    return _cbc(name, f"{amount:.2f}", currencyID=quote.currency)


def _address_line(*lines: str) -> Node:
    return _cac("AddressLine", *(_cbc("Line", line) for line in lines))


def _seller(quote: Summary) -> Node:
    firm = quote.firm
    country = _cac("Country", _cbc("IdentificationCode", firm.country)) if firm.country else None
    address = [_address_line(line) for line in firm.address]
    taxes = [
        _cac("PartyTaxScheme", _cbc("CompanyID", t.registration), _scheme(t.name))
        for t in quote.taxes
        if t.registration
    ]
    legal = [_cbc("RegistrationName", firm.name)] if firm.name else []
    legal += [_cbc("CompanyID", firm.registration)] if firm.registration else []
    return _cac(
        "Party",
        _cac("PartyName", _cbc("Name", firm.name)) if firm.name else None,
        _cac("PostalAddress", *address, country) if address or firm.country else None,
        *taxes,
        _cac("PartyLegalEntity", *legal) if legal else None,
    )


def _party(name: str) -> Node:
    legal = _cac("PartyLegalEntity", _cbc("RegistrationName", name))
    return _cac("Party", _cac("PartyName", _cbc("Name", name)), legal)


def _scheme(name: str) -> Node:
    return _cac("TaxScheme", _cbc("ID", name))


def _category(tax: TaxLine, node: str) -> Node:
    """Return a tax category: S where the rate is more than nothing, Z where it is not (UN/CEFACT 5305)."""
    code = "S" if tax.rate_percent else "Z"
    return _cac(node, _cbc("ID", code), _cbc("Percent", f"{tax.rate_percent:f}"), _scheme(tax.name))


def _untaxed(node: str) -> Node:
    reason = _cbc("TaxExemptionReason", "No tax on this price")
    return _cac(node, _cbc("ID", "O"), reason, _scheme("VAT"))


def _categories(node: str, part: SplitAmount) -> Iterator[Node]:
    """Yield the categories of a line: those taxes that are on the whole price."""
    yield from (_category(t, node) for t in part.taxes if t.base == part.net)
    if not part.taxes:
        yield _untaxed(node)


def _adjustments(totals: DocumentTotals, part: SplitAmount, quote: Summary) -> Iterator[Node]:
    """Yield the allowance or charge that takes the lines to the price: discount, quote rounding."""
    for charge, amount in (("false", totals.allowances), ("true", totals.charges)):
        if amount:
            yield _cac(
                "AllowanceCharge", _cbc("ChargeIndicator", charge),
                _cbc("AllowanceChargeReason", "Discount and rounding of the quote"),
                _money("Amount", amount, quote), *_categories("TaxCategory", part),
            )  # fmt: skip


def _taxes(part: SplitAmount, quote: Summary) -> Iterator[Node]:
    for tax in part.taxes:
        yield _tax_total(tax.base, tax.amount, _category(tax, "TaxCategory"), quote)
    if not part.taxes:
        yield _tax_total(part.net, NOTHING, _untaxed("TaxCategory"), quote)


def _tax_total(base: Decimal, amount: Decimal, category: Node, quote: Summary) -> Node:
    subtotal = _cac(
        "TaxSubtotal", _money("TaxableAmount", base, quote), _money("TaxAmount", amount, quote), category
    )
    return _cac("TaxTotal", _money("TaxAmount", amount, quote), subtotal)


def _monetary(node: str, totals: DocumentTotals, currency: str) -> Node:
    always = {"LineExtensionAmount": totals.lines, "TaxExclusiveAmount": totals.without_tax,
              "TaxInclusiveAmount": totals.with_tax}  # fmt: skip
    some = {"AllowanceTotalAmount": totals.allowances, "ChargeTotalAmount": totals.charges,
            "PrepaidAmount": totals.paid, "PayableRoundingAmount": totals.rounding}  # fmt: skip
    shown = always | {name: v for name, v in some.items() if v} | {"PayableAmount": totals.due}
    return _cac(node, *(_cbc(name, f"{v:.2f}", currencyID=currency) for name, v in shown.items()))


def _item(line: QuoteLine, part: SplitAmount) -> Node:
    section = [_cbc("Description", line.section)] if line.section.strip() else []
    return _cac("Item", *section, _cbc("Name", line.description), *_categories("ClassifiedTaxCategory", part))


def _quantity(name: str, line: QuoteLine) -> Node:
    """Return the line's quantity, negative where the line takes off: a price never is (BR-27)."""
    many = abs(line.quantity) or Decimal(1)
    return _cbc(name, f"{many if line.amount >= 0 else -many:f}", unitCode=unit_code(line.unit))


def _price(line: QuoteLine, quote: Summary) -> Node:
    """Return the price of the line's whole quantity, which is exact where a price for one would not be."""
    many = _cbc("BaseQuantity", f"{abs(line.quantity) or 1:f}", unitCode=unit_code(line.unit))
    return _cac("Price", _money("PriceAmount", abs(line.amount), quote), many)


def _quotation_line(number: int, line: QuoteLine, part: SplitAmount, quote: Summary) -> Node:
    amount = _money("LineExtensionAmount", line.amount, quote)
    inner = [
        _cbc("ID", str(number)),
        _quantity("Quantity", line),
        amount,
        _price(line, quote),
        _item(line, part),
    ]
    return _cac("QuotationLine", _cac("LineItem", *inner))


def _invoice_line(number: int, line: QuoteLine, part: SplitAmount, quote: Summary) -> Node:
    amount = _money("LineExtensionAmount", line.amount, quote)
    inner = [_quantity("InvoicedQuantity", line), amount, _item(line, part), _price(line, quote)]
    return _cac("InvoiceLine", _cbc("ID", str(number)), *inner)


def unit_code(unit: str) -> str:
    """Return the UNECE code of a unit as the quote writes it; that of 'one' for a unit not in the list."""
    codes = _unit_codes()
    return codes.get(unit.strip(), codes["otherwise"])


@cache
def _unit_codes() -> Mapping[str, str]:
    text = (resources.files("estimator.catalogue") / "data" / "unit_codes.toml").read_text("utf-8")
    body = tomllib.loads(text)
    return {**body["codes"], "otherwise": str(body["otherwise"])}
