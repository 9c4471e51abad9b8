"""The index, a JSON file made from the folders, so that lists answer at once; and each quote's account by it.

It is never the only copy: a row counts only while the ledger has the SHA-256 of what it was made from.
Whatever else is wrong with the file (missing, damaged, of another version), it is made anew; where the
archive is read-only, it is made for once.

Quoted, invoiced and paid include tax, as the papers do; price, cost and margins are before tax.
"""

import contextlib
import datetime as dt
import os
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from operator import attrgetter
from pathlib import Path
from typing import Literal

from pydantic import TypeAdapter

from estimator.archive import ledger
from estimator.archive.events import Event, in_force, last_outcome, read_event
from estimator.archive.files import LARGEST_LIST, read_bytes
from estimator.archive.ledger import Place, existing, filed
from estimator.archive.manifest import MANIFEST
from estimator.archive.names import natural, number_key, revision_key
from estimator.archive.summary import read_quote
from estimator.core.errors import BattenbookError, InputError, Problem, refuse
from estimator.core.files import write_new

BATCH = 500
Progress = Callable[[int, int], None]


@dataclass(frozen=True, slots=True)
class QuoteRow:
    """One filed revision; `folder` below the archive with '/'."""

    key: str
    number_key: str
    number: str
    revision: int
    client: str
    title: str
    site: str
    date: dt.date
    currency: str
    price: Decimal
    total: Decimal
    cost: Decimal
    profit: Decimal
    area_m2: Decimal
    days: Decimal
    hours: Decimal
    folder: str


@dataclass(frozen=True, slots=True)
class FiledContents:
    """All that is filed, in the order of the keys.

    Attributes:
        proofs: by key, the SHA-256 of the manifest or record that each was read from.
        problems: met on the way.
    """

    quotes: tuple[QuoteRow, ...] = ()
    events: tuple[Event, ...] = ()
    proofs: Mapping[str, str] = field(default_factory=dict)
    problems: tuple[Problem, ...] = ()


Row = QuoteRow | Event
FORM = TypeAdapter(FiledContents)


def contents(root: Path, progress: Progress | None = None) -> FiledContents:
    """Return everything filed in the archive at `root`, the index mended first where it needs it.

    Raises:
        ArchiveError: there is no archive.
    """
    place = existing(root)
    kept = _kept(place)
    rows_kept: tuple[Row, ...] = (*kept.quotes, *kept.events)
    held = {row.key: row for row in rows_kept}
    told = ledger.read(place)
    found = dict(filed(place)) if told.problem or not held else {}
    listed = {k: found.get(k, place.root / e.file) for k, e in told.entries.items() if e.sha256 or k in found}
    proofs = {**found, **listed} if told.problem else listed
    said = {key: entry.sha256 for key, entry in told.entries.items()}
    rows = {key: row for key, row in held.items() if said.get(key) == kept.proofs.get(key, "-")}
    missing = sorted(proofs.keys() - rows.keys())
    problems = [replace(p, severity="warning") for p in ledger.wrong(place, told) if found]
    for done, key in enumerate(missing, 1):
        try:
            rows[key] = _row(place, proofs[key])
        except InputError as error:
            problems += [replace(p, severity="warning") for p in error.problems]
        if progress and (done % BATCH == 0 or done == len(missing)):
            progress(done, len(missing))
    ordered = [rows[key] for key in sorted(rows)]
    quotes = tuple(row for row in ordered if isinstance(row, QuoteRow))
    events = tuple(row for row in ordered if isinstance(row, Event))
    every = FiledContents(quotes, events, {key: said[key] for key in sorted(rows.keys() & said.keys())})
    if rows != held:
        _keep(place, FORM.dump_json(every))
    return replace(every, problems=tuple(problems))


def _kept(place: Place) -> FiledContents:
    """Return what the index holds; nothing where it is missing, damaged or of another version."""
    try:
        return FORM.validate_json(read_bytes(place.index, LARGEST_LIST))
    except (BattenbookError, OSError, ValueError):
        return FiledContents()


def _keep(place: Place, content: bytes) -> None:
    """Write the index, if the disk will; a link that stands there is replaced, not written through."""
    draft = place.private / f".battenbook-{os.urandom(6).hex()}.part"
    with contextlib.suppress(OSError):
        write_new(draft, content)
        draft.replace(place.index)
    with contextlib.suppress(OSError):
        draft.unlink(missing_ok=True)


def _row(place: Place, proof: Path) -> Row:
    if proof.is_file():
        return _quote_row(place, proof.parent) if proof.name == MANIFEST else read_event(proof.parent)
    fix = "If it was moved, `battenbook archive rebuild` finds it; `verify` says what is missing."
    raise refuse(place.relative(proof.parent), "is filed but its folder is not there", fix)


def _quote_row(place: Place, folder: Path) -> QuoteRow:
    quote = read_quote(folder)
    t, revision = quote.totals, quote.revision or 0
    return QuoteRow(
        revision_key(quote.number, revision), number_key(quote.number), quote.number, revision, quote.client,
        quote.title, quote.site, quote.date, quote.currency, t.price, t.total, t.cost, t.profit,
        quote.area_m2, quote.days, sum((h for _, h in quote.hours), Decimal(0)), place.relative(folder),
    )  # fmt: skip


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
