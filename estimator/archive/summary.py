"""The frozen record of a filed quote: what was promised, at what price, and how the price was made.

It is plain on purpose: what the archive must still read in ten years depends on no other part of the
program. Amounts are `Decimal`, written as text so that no cent is lost on the way through JSON.
"""

import datetime as dt
from collections.abc import Iterable
from dataclasses import asdict, dataclass, fields
from decimal import Decimal
from pathlib import Path

from estimator.archive import files, jsons
from estimator.core.errors import Problem

SUMMARY = "summary.json"
LARGEST = Decimal(10) ** 12
CENT = Decimal("0.01")


@dataclass(frozen=True, slots=True)
class FiledFirm:
    """Who quotes: name, address as lines, ISO 3166-1 country code, company registration."""

    name: str = ""
    address: tuple[str, ...] = ()
    country: str = ""
    registration: str = ""


@dataclass(frozen=True, slots=True)
class TaxLine:
    """One tax on the price: rate in percent of `base`; `registration` is the firm's number for it."""

    name: str
    rate_percent: Decimal
    base: Decimal
    amount: Decimal
    registration: str = ""


@dataclass(frozen=True, slots=True)
class PaymentStep:
    """One agreed payment, tax included."""

    label: str
    amount: Decimal


@dataclass(frozen=True, slots=True)
class QuoteLine:
    """One line of the quote as the client reads it, before tax and before discount and rounding."""

    section: str
    description: str
    quantity: Decimal
    unit: str
    amount: Decimal


@dataclass(frozen=True, slots=True)
class FiledTotals:
    """How the price came about, in the order it is built up.

    Attributes:
        materials, labour, other: direct cost.
        overhead, contingency: added to it.
        cost: the five together.
        profit: what is left of the price after the cost; discount and quote rounding are taken from it.
        margin: profit ÷ price, as a fraction; 0 where the price is 0.
        price: before tax.
        total: price and taxes.
    """

    materials: Decimal
    labour: Decimal
    other: Decimal
    overhead: Decimal
    contingency: Decimal
    cost: Decimal
    profit: Decimal
    margin: Decimal
    price: Decimal
    total: Decimal


@dataclass(frozen=True, slots=True)
class Summary:
    """One revision of a quote.

    Attributes:
        number: as the firm writes it; '' lets the archive give the next one of the year.
        revision: from 0; None lets the archive give the next one of that number.
        client, title, site: free text.
        date: of the quote; its year is the folder it is filed under.
        currency: ISO 4217 code.
        area_m2: treated area, m².
        days: days on site.
        program: the version of the program that made it.
        valid_until: last day on which the quote holds, if it says.
        hours: expected hours by task, to be compared with those spent.
    """

    number: str
    revision: int | None
    client: str
    title: str
    site: str
    date: dt.date
    currency: str
    totals: FiledTotals
    taxes: tuple[TaxLine, ...]
    payments: tuple[PaymentStep, ...]
    area_m2: Decimal
    days: Decimal
    lines: tuple[QuoteLine, ...]
    program: str
    firm: FiledFirm = FiledFirm()
    valid_until: dt.date | None = None
    hours: tuple[tuple[str, Decimal], ...] = ()

    def problems(self) -> tuple[Problem, ...]:
        """Return why the record may not be filed: figures that do not add up, or a field that is no use."""
        return (*_unusable(self), *_uneven(self))


def _unusable(summary: Summary) -> Iterable[Problem]:
    if not summary.client.strip():
        yield Problem("client", "is empty", "Name the client in the job.")
    if not (len(summary.currency) == 3 and summary.currency.isascii() and summary.currency.isupper()):  # noqa: PLR2004 - ISO 4217
        yield Problem(
            "currency", f"{summary.currency!r} is no currency code", "Write three capitals, like CAD."
        )
    if summary.revision is not None and summary.revision < 0:
        yield Problem("revision", f"is {summary.revision}", "Revisions count from 0.")
    if not summary.lines:
        yield Problem("lines", "the quote has no line", "A quote offers at least one thing.")
    measured = (
        ("area_m2", summary.area_m2),
        ("days", summary.days),
        ("totals.margin", summary.totals.margin),
    )
    for where, figure in (*measured, *_amounts(summary)):
        if not figure.is_finite() or abs(figure) > LARGEST:
            yield Problem(where, f"is {figure}", "A figure is a finite number below a million million.")
    for where, amount in _amounts(summary):
        if amount.is_finite() and amount % CENT:
            yield Problem(where, f"is {amount}", "An amount of money is whole cents.")


def _amounts(summary: Summary) -> Iterable[tuple[str, Decimal]]:
    names = (f.name for f in fields(FiledTotals) if f.name != "margin")
    yield from ((f"totals.{name}", getattr(summary.totals, name)) for name in names)
    yield from ((f"taxes[{i}].amount", t.amount) for i, t in enumerate(summary.taxes))
    yield from ((f"payments[{i}].amount", p.amount) for i, p in enumerate(summary.payments))
    yield from ((f"lines[{i}].amount", n.amount) for i, n in enumerate(summary.lines))


def _uneven(summary: Summary) -> Iterable[Problem]:
    t = summary.totals
    parts = (t.materials, t.labour, t.other, t.overhead, t.contingency)
    names = "materials, labour, other, overhead and contingency"
    yield from _differs("totals.cost", t.cost, parts, names)
    yield from _differs("totals.price", t.price, (t.cost, t.profit), "cost and profit")
    yield from _differs(
        "totals.total", t.total, (t.price, *(x.amount for x in summary.taxes)), "price and taxes"
    )
    if summary.payments:
        yield from _differs(
            "totals.total", t.total, (p.amount for p in summary.payments), "the payment steps"
        )


def _differs(where: str, stated: Decimal, parts: Iterable[Decimal], names: str) -> Iterable[Problem]:
    added = sum(parts, Decimal(0))
    if stated != added:
        what = f"is {stated}, but {names} add up to {added}"
        yield Problem(where, what, "What is filed adds up to the cent.")


def to_json(summary: Summary) -> str:
    """Return the record as JSON text: keys in the order of the fields, amounts as text."""
    return jsons.dump(asdict(summary))


def from_json(content: str | bytes, where: str = SUMMARY) -> Summary:
    """Return the record written in `content`.

    Raises:
        InputError: it cannot be read; the problem says why.
    """
    return jsons.load(content, where, Summary)


def read_quote(folder: Path) -> Summary:
    """Return the record of the quote filed in `folder`.

    Raises:
        InputError: it is missing or damaged.
    """
    return from_json(files.read_bytes(folder / SUMMARY), str(folder / SUMMARY))
