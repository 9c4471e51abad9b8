"""Every export by its name, as the bytes of a file: a journal that balances to the cent, tables, UBL."""

import csv
import datetime as dt
import io
import json
import tomllib
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import astuple, dataclass, fields, replace
from decimal import Decimal
from importlib import resources
from pathlib import Path
from typing import Any

from estimator.archive import files, ubl
from estimator.archive.events import Event
from estimator.archive.index import Account, accounts, contents
from estimator.archive.shares import share
from estimator.archive.store import find_invoice, find_revision, papers_of, quotes
from estimator.archive.summary import Summary, read_quote
from estimator.core.errors import InputError, Problem, refuse, refuse_all
from estimator.intake.files import text_of
from estimator.intake.structured import read_toml

KEYS = ("receivable", "bank", "income", "rounding", "tax", "purchases", "payable")
NOTHING = Decimal("0.00")
Table = tuple[Sequence[str], list[tuple[object, ...]]]
"""Heads of columns, and rows."""
DANGEROUS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")


@dataclass(frozen=True, slots=True)
class LedgerAccount:
    """One account of the firm's chart: its number and name."""

    number: str
    name: str


@dataclass(frozen=True, slots=True)
class AccountChart:
    """The accounts that the journal books to; `taxes` holds those taxes that have one of their own."""

    accounts: Mapping[str, LedgerAccount]
    taxes: Mapping[str, LedgerAccount]

    def tax(self, name: str) -> LedgerAccount:
        """Return the account of the tax of that name."""
        return self.taxes.get(name, self.accounts["tax"])


@dataclass(frozen=True, slots=True)
class JournalLine:
    """One line of the journal; debit or credit is 0, neither is negative."""

    entry: int
    date: dt.date
    account: str
    account_name: str
    debit: Decimal
    credit: Decimal
    currency: str
    memo: str
    reference: str
    quote: str
    client: str


def load_chart(path: Path | None = None) -> AccountChart:
    """Return the shipped chart of accounts with the firm's own file, where given, laid over it.

    Raises:
        InputError: the file is no TOML or names an account that the journal does not know.
    """
    shipped = (resources.files("estimator.catalogue") / "data" / "accounts.toml").read_text("utf-8")
    chart = _chart(tomllib.loads(shipped), "accounts.toml")
    if path is None:
        return chart
    own = _chart(read_toml(text_of(files.read_bytes(path), str(path)), str(path)), str(path))
    return AccountChart({**chart.accounts, **own.accounts}, {**chart.taxes, **own.taxes})


def _chart(body: Mapping[str, Any], where: str) -> AccountChart:
    refuse_all(
        [
            Problem(
                f"accounts.{key}", "is no account of the journal", f"Known: {', '.join(KEYS)}.", file=where
            )
            for key in body.get("accounts", {})
            if key not in KEYS
        ]
    )
    return AccountChart(_accounts(body, "accounts", where), _accounts(body, "taxes", where))


def _accounts(body: Mapping[str, Any], table: str, where: str) -> dict[str, LedgerAccount]:
    try:
        return {
            key: LedgerAccount(str(v["number"]), str(v["name"])) for key, v in body.get(table, {}).items()
        }
    except (KeyError, TypeError, AttributeError):
        problem = Problem(table, "an account has no number or no name", "Give both.", file=where)
        raise InputError([problem]) from None


def journal(rows: Iterable[tuple[Summary, Event]], chart: AccountChart) -> tuple[JournalLine, ...]:
    """Return the journal of events, each with the quote it belongs to; every entry balances.

    An invoice: receivable to income and each tax. A payment: bank to receivable. A receipt: purchases to
    payable, the tax inside it left for the bookkeeper to split.
    """
    lines: list[JournalLine] = []
    entry = 0
    for quote, event in rows:
        legs = list(_legs(quote, event, chart))
        entry += bool(legs)
        lines += [_line(entry, quote, event, account, amount) for account, amount in legs if amount]
    return tuple(lines)


def _legs(quote: Summary, event: Event, chart: AccountChart) -> Iterator[tuple[LedgerAccount, Decimal]]:
    """Yield accounts and amounts of one entry, debits positive, that add up to nothing."""
    a = chart.accounts
    if event.reverses:
        wrong = replace(event, amount=-event.amount, reverses=0)
        yield from ((account, -amount) for account, amount in _legs(quote, wrong, chart))
    elif event.kind == "invoice":
        part = share(quote, event.amount)
        yield a["receivable"], event.amount
        yield a["income"], -part.net
        yield from ((chart.tax(t.name), -t.amount) for t in part.taxes)
        yield a["rounding"], -part.rounding
    elif event.kind == "paid":
        yield from ((a["bank"], event.amount), (a["receivable"], -event.amount))
    elif event.kind == "receipt":
        yield from ((a["purchases"], event.amount), (a["payable"], -event.amount))


def _line(entry: int, quote: Summary, event: Event, account: LedgerAccount, amount: Decimal) -> JournalLine:
    debit, credit = max(amount, NOTHING), max(-amount, NOTHING)
    what = f"reversal of {event.kind}" if event.reverses else event.kind
    memo = f"{what} {event.reference}".rstrip() + f": {quote.title}"
    return JournalLine(
        entry, event.date, account.number, account.name, debit, credit, quote.currency, memo, event.reference,
        quote.number, quote.client,
    )  # fmt: skip


def records(kind: type[Any], found: Iterable[Any]) -> Table:
    """Return the table of records of one kind: a column for each field."""
    return tuple(f.name for f in fields(kind)), [astuple(one) for one in found]


def as_csv(heads: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """Return a table as CSV with a header, read alike by spreadsheets and by pandas.

    A text that a spreadsheet would take for a formula gets an apostrophe in front; numbers stay numbers.
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerows([heads, *([_cell(value) for value in row] for row in rows)])
    return out.getvalue()


def _cell(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, str):
        return f"'{value}" if value.lstrip(" ").startswith(DANGEROUS) else value
    return f"{value:f}" if isinstance(value, Decimal) else str(value)


def as_json(heads: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """Return a table as a JSON array of objects: amounts as numbers, dates as ISO 8601."""
    body = [dict(zip(heads, row, strict=True)) for row in rows]
    return json.dumps(body, default=_number, ensure_ascii=False, indent=2) + "\n"


def _number(value: object) -> object:
    return float(value) if isinstance(value, Decimal) else str(value)


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
        return as_json(heads, rows).encode()
    return as_csv(heads, rows).encode("utf-8-sig")  # the mark tells spreadsheets that it is UTF-8


def _document(root: Path, wanted: ExportWanted) -> bytes:
    if not wanted.number:
        raise refuse("export", f"which {wanted.kind} is not said", f"Say: export {wanted.kind} NUMBER.")
    if wanted.kind == "quotation":
        return ubl.quotation(read_quote(find_revision(root, wanted.number, wanted.revision)[1]))
    return ubl.invoice(*find_invoice(root, wanted.number, wanted.reference))


def _table(root: Path, wanted: ExportWanted) -> Table:
    if wanted.kind == "quotes":
        return records(Account, accounts(contents(root)))
    if wanted.kind == "lines":
        found = (read_quote(folder) for _, folder in quotes(root))
        return _read(LINES, ((quote, line) for quote in found for line in quote.lines))
    filed = papers_of(root, wanted.first, wanted.last)
    if wanted.kind == "journal":
        return records(JournalLine, journal(filed, load_chart(wanted.chart)))
    return _read(PAPERS, filed)


def _read(columns: Mapping[str, Reader], found: Iterable[tuple[Summary, object]]) -> Table:
    return tuple(columns), [tuple(read(q, one) for read in columns.values()) for q, one in found]
