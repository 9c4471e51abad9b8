"""One quote's account: quoted, invoiced, paid, actual, and what is still open.

Quoted, invoiced and paid include tax, as the papers do; price, cost and margins are before tax.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from operator import attrgetter
from typing import Literal

from estimator.archive.events import Event, in_force, last_outcome
from estimator.archive.index import FiledContents, QuoteRow
from estimator.archive.names import natural

Standing = Literal["open", "won", "lost"]
NOTHING = Decimal(0)


@dataclass(frozen=True, slots=True)
class Account:
    """What became of one quote number.

    Attributes:
        revision: the one that counts: the one won, else the latest.
        revisions: how many are filed.
        quoted: its total with tax.
        price, cost, margin: before tax, as quoted; the margin is a fraction of the price.
        invoiced, paid: with tax.
        receipts: bought for the job, as filed, with tax.
        actual_cost, actual_hours: as last reported; None where nothing was reported.
        margin_earned: (price − actual cost) ÷ price; None as above.
        to_invoice: quoted − invoiced; due: invoiced − paid.
        hours: expected when it was quoted, beside `actual_hours`.
        price_per_m2: price ÷ treated area; None where there is no area.
        folder: of the revision that counts, below the archive with '/'.
    """

    number: str
    revision: int
    revisions: int
    client: str
    title: str
    site: str
    date: dt.date
    currency: str
    outcome: Standing
    quoted: Decimal
    price: Decimal
    cost: Decimal
    margin: Decimal
    invoiced: Decimal
    paid: Decimal
    receipts: Decimal
    to_invoice: Decimal
    due: Decimal
    actual_cost: Decimal | None
    actual_hours: Decimal | None
    margin_earned: Decimal | None
    area_m2: Decimal
    price_per_m2: Decimal | None
    days: Decimal
    hours: Decimal
    folder: str


def accounts(contents: FiledContents) -> tuple[Account, ...]:
    """Return one account for each quote number, in the order of the numbers."""
    quotes: dict[str, list[QuoteRow]] = defaultdict(list)
    papers: dict[str, list[Event]] = defaultdict(list)
    for quote in contents.quotes:
        quotes[quote.number_key].append(quote)
    for event in contents.events:
        papers[event.number_key].append(event)
    ordered = sorted(quotes, key=natural)
    return tuple(_account(quotes[key], papers[key]) for key in ordered)


def _account(quotes: Sequence[QuoteRow], events: Iterable[Event]) -> Account:
    ordered = sorted(events, key=attrgetter("sequence"))
    outcome, quote = _standing(quotes, ordered)
    sums = dict.fromkeys(("invoice", "paid", "receipt"), NOTHING)
    for event in ordered:
        if event.kind in sums:
            sums[event.kind] += event.amount
    actual = next((e for e in reversed(in_force(ordered)) if e.kind == "actual"), None)
    return Account(
        number=quote.number, revision=quote.revision, revisions=len(quotes), client=quote.client,
        title=quote.title, site=quote.site, date=quote.date, currency=quote.currency, outcome=outcome,
        quoted=quote.total, price=quote.price, cost=quote.cost,
        margin=ratio(quote.profit, quote.price) or NOTHING,
        invoiced=sums["invoice"], paid=sums["paid"], receipts=sums["receipt"],
        to_invoice=quote.total - sums["invoice"], due=sums["invoice"] - sums["paid"],
        actual_cost=actual.spent.cost if actual else None,
        actual_hours=actual.spent.total_hours if actual else None,
        margin_earned=ratio(quote.price - actual.spent.cost, quote.price) if actual else None,
        area_m2=quote.area_m2, price_per_m2=ratio(quote.price, quote.area_m2), days=quote.days,
        hours=quote.hours, folder=quote.folder,
    )  # fmt: skip


def _standing(quotes: Sequence[QuoteRow], events: Sequence[Event]) -> tuple[Standing, QuoteRow]:
    """Return how the quote stands by its last outcome, and the revision that counts."""
    latest = max(quotes, key=attrgetter("revision"))
    last = last_outcome(events)
    if last is None:
        return "open", latest
    if last.outcome == "lost":
        return "lost", latest
    return "won", next((q for q in quotes if q.revision == last.revision), latest)


def ratio(part: Decimal, whole: Decimal) -> Decimal | None:
    """Return `part` ÷ `whole`, None where there is no whole."""
    return part / whole if whole else None


def matching(
    found: Iterable[Account], text: str = "", client: str = "", year: int | None = None, outcome: str = ""
) -> tuple[Account, ...]:
    """Return the accounts that hold every word of `text`, and are of that client, year and outcome.

    Capitals do not matter; `client` is a part of the client's name.
    """
    words = text.casefold().split()
    return tuple(
        a
        for a in found
        if all(w in f"{a.number} {a.client} {a.title} {a.site}".casefold() for w in words)
        and client.casefold() in a.client.casefold()
        and year in {None, a.date.year}
        and outcome in {"", a.outcome}
    )
