"""What speaks against filing an event: more invoiced than quoted, more paid than invoiced, a paper twice.

Such a thing may be right, and is then filed with a note that says why; it is never filed unseen.
"""

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from estimator.archive.events import Event
from estimator.archive.names import number_key
from estimator.core.errors import Problem

NOTHING = Decimal(0)
CHECK = "Check it; if it is right, file it with --force --note WHY."
CHANGED = "After a change order, note `archive outcome NUMBER won --revision N` first. " + CHECK


@dataclass(frozen=True, slots=True)
class QuoteStanding:
    """How a quote stands before an event is filed.

    Attributes:
        quoted: the total of the revision that counts, with tax.
        first: the date of its first revision.
        events: those in force.
        papers: the SHA-256 of every paper in force in the archive, and where it is filed.
    """

    quoted: Decimal
    first: dt.date
    events: Sequence[Event]
    papers: Mapping[str, str]


def objections(event: Event, sha256: str, before: QuoteStanding) -> Iterator[Problem]:
    """Yield what speaks against an event.

    Args:
        event: to be filed.
        sha256: of its paper, '' for none.
        before: how the quote stands without it.
    """
    where = f"{event.kind} {event.reference}".rstrip()
    if sha256 in before.papers and event.kind != "actual":
        yield Problem(where, f"its file is filed already: {before.papers[sha256]}", CHECK)
    if event.kind == "invoice":
        yield from _invoice(event, where, before)
    elif event.kind == "paid":
        yield from _payment(event, where, before)


def _invoice(event: Event, where: str, before: QuoteStanding) -> Iterator[Problem]:
    invoiced = event.amount + _sum(before.events, "invoice")
    if _beyond(invoiced, before.quoted):
        what = f"{event.amount} makes {invoiced} invoiced, and {before.quoted} is quoted"
        yield Problem(where, what, CHANGED)
    if event.date < before.first:
        yield Problem(where, f"is dated {event.date}, before its quote of {before.first}", CHECK)


def _payment(event: Event, where: str, before: QuoteStanding) -> Iterator[Problem]:
    key = number_key(event.reference)
    named = [e for e in before.events if key and number_key(e.reference) == key]
    invoices = [e for e in named if e.kind == "invoice"]
    if key and not invoices:
        yield Problem(where, f"no invoice {event.reference} is filed beside {event.number}", CHECK)
    for counted in (named, before.events) if invoices else (before.events,):
        paid, invoiced = event.amount + _sum(counted, "paid"), _sum(counted, "invoice")
        if _beyond(paid, invoiced):
            yield Problem(where, f"{event.amount} makes {paid} paid, and {invoiced} is invoiced", CHECK)
            break
    if invoices and event.date < invoices[0].date:
        yield Problem(where, f"is dated {event.date}, before the invoice of {invoices[0].date}", CHECK)


def _beyond(amount: Decimal, whole: Decimal) -> bool:
    """Return whether an amount is no part of a whole, which a credit makes negative."""
    return not min(whole, NOTHING) <= amount <= max(whole, NOTHING)


def _sum(events: Sequence[Event], kind: str) -> Decimal:
    return sum((e.amount for e in events if e.kind == kind), NOTHING)
