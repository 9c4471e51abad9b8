"""Every export by its name: what the bookkeeper or another program asks for, as the bytes of a file."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

from estimator.archive import exports, ubl
from estimator.archive.account import Account, accounts
from estimator.archive.exports import JournalLine
from estimator.archive.index import contents
from estimator.archive.invoices import find_invoice, papers_of
from estimator.archive.store import find_revision, quotes, read_quote
from estimator.core.errors import refuse

KINDS = ("journal", "quotes", "papers", "lines", "quotation", "invoice")
FORMATS = ("csv", "json")


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is asked for: one of `KINDS`, and what narrows it."""

    kind: str
    number: str = ""
    form: str = "csv"
    first: dt.date | None = None
    last: dt.date | None = None
    chart: Path | None = None
    reference: str = ""
    revision: int | None = None


@dataclass(frozen=True, slots=True)
class PaperRow:
    """One paper in a table."""

    quote: str
    client: str
    sequence: int
    kind: str
    date: dt.date
    currency: str
    amount: Decimal
    reference: str
    outcome: str
    revision: int
    hours: Decimal
    cost: Decimal
    reverses: int
    note: str
    file: str


@dataclass(frozen=True, slots=True)
class LineRow:
    """One line of a quote in a table."""

    quote: str
    revision: int
    client: str
    date: dt.date
    currency: str
    section: str
    description: str
    quantity: Decimal
    unit: str
    amount: Decimal


def exported(root: Path, wanted: Wanted) -> bytes:
    """Return the export that is wanted, as the bytes of a file.

    Raises:
        InputError: the kind, format, date, quote or invoice is not known.
    """
    if wanted.kind not in KINDS or wanted.form not in FORMATS:
        which = wanted.form if wanted.kind in KINDS else wanted.kind
        fix = f"Say one of {', '.join(KINDS)}; and csv or json."
        raise refuse("export", f"{which!r} is not known", fix)
    if wanted.kind in {"quotation", "invoice"}:
        return _document(root, wanted)
    rows, kind = _rows(root, wanted)
    if wanted.form == "json":
        return exports.as_json(rows).encode()
    return exports.as_csv(rows, kind).encode("utf-8-sig")  # the mark tells spreadsheets that it is UTF-8


def _document(root: Path, wanted: Wanted) -> bytes:
    if not wanted.number:
        raise refuse("export", f"which {wanted.kind} is not said", f"Say: export {wanted.kind} NUMBER.")
    if wanted.kind == "quotation":
        return ubl.quotation(read_quote(find_revision(root, wanted.number, wanted.revision)[1]))
    return ubl.invoice(*find_invoice(root, wanted.number, wanted.reference))


def _rows(root: Path, wanted: Wanted) -> tuple[Sequence[object], type[object]]:
    if wanted.kind == "quotes":
        return accounts(contents(root)), Account
    if wanted.kind == "lines":
        return _lines(root), LineRow
    found = papers_of(root, wanted.first, wanted.last)
    if wanted.kind == "journal":
        return exports.journal(found, exports.load_chart(wanted.chart)), JournalLine
    return [
        PaperRow(
            quote.number, quote.client, e.sequence, e.kind, e.date, quote.currency, e.amount, e.reference,
            e.outcome, e.revision, e.spent.total_hours, e.spent.cost, e.reverses, e.note, e.file,
        )
        for quote, e in found
    ], PaperRow  # fmt: skip


def _lines(root: Path) -> list[LineRow]:
    found = (read_quote(folder) for _, folder in quotes(root))
    return [
        LineRow(
            q.number, q.revision or 0, q.client, q.date, q.currency, n.section, n.description, n.quantity,
            n.unit, n.amount,
        )
        for q in found
        for n in q.lines
    ]  # fmt: skip
