"""``battenbook archive``: what files. A quote, and the papers and words that follow it."""

import datetime as dt
from collections.abc import Callable, Sequence
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from estimator.cli import archive_text
from estimator.cli.archive_folder import Where
from estimator.cli.archive_verb import Number, Result, Revision, Show
from estimator.cli.options import Paper as Sheet
from estimator.cli.options import PriceBy, Templates
from estimator.core.errors import Problem, refuse

if TYPE_CHECKING:
    from estimator.archive.events import Event, Kind, Outcome
    from estimator.archive.invoices import Plan

Amount = Annotated[str, typer.Option("--amount", metavar="MONEY", help="With tax, like 1637.37.")]
Date = Annotated[str, typer.Option("--date", metavar="YYYY-MM-DD", help="The date on the paper.")]
Day = Annotated[str, typer.Option("--date", metavar="YYYY-MM-DD", help="The date; today if not given.")]
Note = Annotated[str, typer.Option("--note", help="A remark to keep with it.")]
Paper = Annotated[Path, typer.Argument(metavar="FILE", help="The paper, a PDF or any other file.")]
Reference = Annotated[str, typer.Option("--reference", help="The number on it; else the file's name.")]


def money(text: str) -> Decimal:
    """Return the amount written in `text`.

    Raises:
        InputError: it is no plain number of at most two decimals.
    """
    try:
        amount = Decimal(text.strip())
        cents = amount.quantize(Decimal("0.01"))
    except InvalidOperation:
        amount = cents = Decimal("NaN")
    if amount != cents:
        raise refuse(
            "--amount", f"{text!r} is no amount of money", "Write it like 1637.37, no comma or symbol."
        )
    return cents


def day(text: str) -> dt.date:
    """Return the date written in `text`; today where it is empty.

    Raises:
        InputError: it is no date.
    """
    try:
        return dt.date.fromisoformat(text.strip()) if text.strip() else dt.datetime.now().astimezone().date()
    except ValueError:
        raise refuse("--date", f"{text!r} is no date", "Write it like 2026-11-25.") from None


def add(
    at: Where,
    job: Annotated[Path, typer.Argument(metavar="JOB", help="The job file.")],
    *,
    paper: Sheet = "",
    price_by: PriceBy = "sum",
    templates: Templates = None,
) -> Result:
    """File a job's quote: job file, price list and terms as used, workbook, papers."""
    from dataclasses import asdict

    from estimator.archive.gather import gather
    from estimator.archive.store import file_quote
    from estimator.cli.estimate import estimated
    from estimator.documents.files import Wishes

    root = at.folder(job)
    result, problems = estimated(job)
    quote, sources = gather(job, result, Wishes(paper, price_by, templates))
    done = file_quote(root, quote, sources, dt.datetime.now(dt.UTC))
    return problems, {"archive": str(root), **asdict(done)}


def _filed(at: Where, event: "Event", paper: Path | None = None, revision: int | None = None) -> Result:
    """File an event; return where it went."""
    from estimator.archive.invoices import file_event

    return (), plain(file_event(at.folder(), event, paper, revision))


def plain(event: "Event") -> dict[str, object]:
    """Return an event by field; what was spent only where it says so."""
    from dataclasses import asdict

    return {k: v for k, v in asdict(event).items() if k != "spent" or event.kind == "actual"}


def _bill(kind: "Kind", text: str) -> Callable[..., Result]:
    """Return the verb that files a paper with a number and an amount on it; `text` is its help."""

    def work(
        at: Where,
        number: Number,
        file: Paper,
        *,
        amount: Amount,
        date: Date,
        reference: Reference = "",
        revision: Revision = None,
        note: Note = "",
    ) -> Result:
        from estimator.archive.events import Event

        event = Event(number, 0, kind, day(date), money(amount), reference or file.stem, note=note)
        return _filed(at, event, file, revision)

    work.__doc__ = text
    return work


def paid(
    at: Where,
    number: Number,
    *,
    amount: Amount,
    date: Date,
    reference: Annotated[str, typer.Option("--invoice", help="The invoice that it pays.")] = "",
    file: Annotated[
        Path | None, typer.Option("--file", metavar="FILE", help="The bank's paper, if any.")
    ] = None,
    note: Note = "",
) -> Result:
    """Note a payment by the client."""
    from estimator.archive.events import Event

    _, done = _filed(at, Event(number, 0, "paid", day(date), money(amount), reference, note=note), file)
    return _without_invoice(at, number, reference), done


def _without_invoice(at: Where, number: str, reference: str) -> tuple[Problem, ...]:
    """Return a warning where a payment names an invoice that is not filed beside the quote."""
    from estimator.archive.invoices import events_of
    from estimator.archive.names import number_key
    from estimator.archive.place import existing

    filed = {number_key(e.reference) for e in events_of(existing(at.folder()), number) if e.kind == "invoice"}
    if not reference or number_key(reference) in filed:
        return ()
    what = f"no invoice {reference} is filed beside {number}"
    fix = "The payment is filed; file the invoice under that number, or the two are not put together."
    return (Problem("--invoice", what, fix, severity="warning"),)


def outcome(
    at: Where,
    number: Number,
    result: Annotated[str, typer.Argument(metavar="won|lost", help="How the quote ended.")],
    *,
    date: Day = "",
    revision: Revision = None,
    note: Note = "",
) -> Result:
    """Note that a quote was won or lost. The last word counts."""
    from estimator.archive.events import Event

    words: dict[str, Outcome] = {"won": "won", "lost": "lost"}
    if result not in words:
        raise refuse("outcome", f"{result!r} is neither won nor lost", "Say won or lost.")
    event = Event(number, 0, "outcome", day(date), outcome=words[result], note=note)
    return _filed(at, event, revision=revision)


def actual(
    at: Where,
    number: Number,
    file: Annotated[
        Path, typer.Argument(metavar="FILE", help="The workbook, Actuals filled in; or a .csv or .json.")
    ],
    *,
    date: Day = "",
    revision: Revision = None,
    note: Note = "",
) -> Result:
    """File what the job really took: hours by task, cost by section. The last report counts.

    From a workbook, invoices and payments typed on its sheet Actuals are filed too, those that are not yet.
    """
    from estimator.archive.invoices import file_events

    root, on = at.folder(), day(date)
    plan, found = _reported(root, number, file, revision, on, note)
    done = file_events(root, number, plan, revision)
    return found, {"filed": [plain(event) for event in done]}


def _reported(
    root: Path, number: str, file: Path, revision: int | None, on: dt.date, note: str
) -> "tuple[Plan, Sequence[Problem]]":
    """Return what a workbook or list reports: what is to be filed, and what is left out of it."""
    from estimator.archive.actuals import load
    from estimator.archive.billed import Row, billed
    from estimator.archive.events import Event, Spent
    from estimator.archive.finished import WORKBOOK, reported

    spent: Spent | None
    rows: tuple[Row, ...] = ()
    found: Sequence[Problem] = ()
    if file.suffix.lower() == WORKBOOK:
        spent, rows, found = reported(root, number, revision, file)
    else:
        spent = load(file)
    report = [] if spent is None else [(Event(number, 0, "actual", on, spent=spent, note=note), file)]

    def plan(filed: "Sequence[Event]") -> "list[tuple[Event, Path | None]]":
        return [*((event, None) for event in billed(rows, filed, number, on)), *report]

    return plan, found


VERBS: dict[str, tuple[Callable[..., Result], Show]] = {
    "add": (add, archive_text.show_filed),
    "outcome": (outcome, archive_text.show_event),
    "invoice": (
        _bill("invoice", "File an invoice to the client beside its quote. A negative amount is a credit."),
        archive_text.show_event,
    ),
    "paid": (paid, archive_text.show_event),
    "receipt": (_bill("receipt", "File a receipt of what was bought for the job."), archive_text.show_event),
    "actual": (actual, archive_text.show_events),
}
