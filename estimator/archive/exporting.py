"""Every export by its name: what the bookkeeper or another program asks for, as the bytes of a file."""

import datetime as dt
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from estimator.archive import exports, ubl
from estimator.archive.account import Account, accounts
from estimator.archive.exports import JournalLine
from estimator.archive.index import contents
from estimator.archive.invoices import find_invoice, papers_of
from estimator.archive.store import find_revision, quotes
from estimator.archive.summary import Summary, read_quote
from estimator.core.errors import refuse

KINDS = ("journal", "quotes", "papers", "lines", "quotation", "invoice")
FORMATS = ("csv", "json")


@dataclass(frozen=True, slots=True)
class ExportWanted:
    """What is asked for: one of `KINDS`, and what narrows it."""

    kind: str
    number: str = ""
    form: str = "csv"
    first: dt.date | None = None
    last: dt.date | None = None
    chart: Path | None = None
    reference: str = ""
    revision: int | None = None


Reader = Callable[[Summary, Any], object]
PAPERS: Mapping[str, Reader] = {
    "quote": lambda q, _: q.number,
    "client": lambda q, _: q.client,
    "sequence": lambda _, e: e.sequence,
    "kind": lambda _, e: e.kind,
    "date": lambda _, e: e.date,
    "currency": lambda q, _: q.currency,
    "amount": lambda _, e: e.amount,
    "reference": lambda _, e: e.reference,
    "outcome": lambda _, e: e.outcome,
    "revision": lambda _, e: e.revision,
    "hours": lambda _, e: e.spent.total_hours,
    "cost": lambda _, e: e.spent.cost,
    "reverses": lambda _, e: e.reverses,
    "note": lambda _, e: e.note,
    "file": lambda _, e: e.file,
}
"""The table of papers: what each column reads of a quote and an event filed beside it."""
LINES: Mapping[str, Reader] = {
    "quote": lambda q, _: q.number,
    "revision": lambda q, _: q.revision or 0,
    "client": lambda q, _: q.client,
    "date": lambda q, _: q.date,
    "currency": lambda q, _: q.currency,
    "section": lambda _, n: n.section,
    "description": lambda _, n: n.description,
    "quantity": lambda _, n: n.quantity,
    "unit": lambda _, n: n.unit,
    "amount": lambda _, n: n.amount,
}
"""The table of lines: what each column reads of a quote and one of its lines."""


def exported(root: Path, wanted: ExportWanted) -> bytes:
    """Return the export that is wanted, as the bytes of a file.

    Raises:
        InputError: the kind, format, date, quote or invoice is not known.
    """
    if wanted.kind not in KINDS or wanted.form not in FORMATS:
        which = wanted.form if wanted.kind in KINDS else wanted.kind
        raise refuse("export", f"{which!r} is not known", f"Say one of {', '.join(KINDS)}; and csv or json.")
    if wanted.kind in {"quotation", "invoice"}:
        return _document(root, wanted)
    heads, rows = _table(root, wanted)
    if wanted.form == "json":
        return exports.as_json(heads, rows).encode()
    return exports.as_csv(heads, rows).encode("utf-8-sig")  # the mark tells spreadsheets that it is UTF-8


def _document(root: Path, wanted: ExportWanted) -> bytes:
    if not wanted.number:
        raise refuse("export", f"which {wanted.kind} is not said", f"Say: export {wanted.kind} NUMBER.")
    if wanted.kind == "quotation":
        return ubl.quotation(read_quote(find_revision(root, wanted.number, wanted.revision)[1]))
    return ubl.invoice(*find_invoice(root, wanted.number, wanted.reference))


def _table(root: Path, wanted: ExportWanted) -> exports.Table:
    if wanted.kind == "quotes":
        return exports.records(Account, accounts(contents(root)))
    if wanted.kind == "lines":
        found = (read_quote(folder) for _, folder in quotes(root))
        return _read(LINES, ((quote, line) for quote in found for line in quote.lines))
    filed = papers_of(root, wanted.first, wanted.last)
    if wanted.kind == "journal":
        return exports.records(JournalLine, exports.journal(filed, exports.load_chart(wanted.chart)))
    return _read(PAPERS, filed)


def _read(columns: Mapping[str, Reader], found: Iterable[tuple[Summary, object]]) -> exports.Table:
    return tuple(columns), [tuple(read(q, one) for read in columns.values()) for q, one in found]
