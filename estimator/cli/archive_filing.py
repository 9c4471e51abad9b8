"""``battenbook archive``: what files. A quote, and the papers and words that follow it."""

import datetime as dt
from collections.abc import Callable, Sequence
from dataclasses import asdict, replace
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from estimator.cli import archive_text
from estimator.cli.output import Number, PriceBy, Result, Revision, Templates, Verbs, Where, day
from estimator.cli.output import Paper as Sheet
from estimator.core.errors import Problem, refuse

if TYPE_CHECKING:
    from estimator.archive.events import Event, Kind, Outcome
    from estimator.archive.store import Plan

Amount = Annotated[str, typer.Option("--amount", metavar="MONEY", help="With tax, like 1637.37.")]
Date = Annotated[str, typer.Option("--date", metavar="YYYY-MM-DD", help="The date on the paper.")]
Day = Annotated[str, typer.Option("--date", metavar="YYYY-MM-DD", help="The date; today if not given.")]
Note = Annotated[str, typer.Option("--note", help="A remark to keep with it.")]
Anyhow = Annotated[
    bool, typer.Option("--force", help="File it though something speaks against it; --note says why.")
]
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


def add(
    at: Where,
    job: Annotated[Path, typer.Argument(metavar="JOB", help="The job file.")],
    *,
    paper: Sheet = "",
    price_by: PriceBy = "sum",
    templates: Templates = None,
) -> Result:
    """File a job's quote: job file, price list and terms as used, workbook, papers."""
    from estimator.archive.gather import gather
    from estimator.archive.store import file_quote
    from estimator.cli.estimate import estimated
    from estimator.documents.files import Wishes

    root = at.folder(job)
    result, problems = estimated(job)
    quote, sources = gather(job, result, Wishes(paper, price_by, templates))
    done = asdict(file_quote(root, quote, sources, dt.datetime.now(dt.UTC)))
    return (*problems, *done.pop("problems")), {"archive": str(root), **done}


def _filed(
    at: Where, event: "Event", paper: Path | None = None, revision: int | None = None, *, force: bool = False
) -> Result:
    """File an event; return where it went."""
    from estimator.archive.store import file_events

    done = file_events(at.folder(), event.number, lambda _: [(event, paper)], revision, force=force)
    return done.problems, plain(done.events[0])


def plain(event: "Event") -> dict[str, object]:
    """Return an event by field; what was spent only where it says so."""
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
        force: Anyhow = False,
    ) -> Result:
        from estimator.archive.events import Event

        event = Event(number, 0, kind, day(date), money(amount), reference or file.stem, note=note)
        return _filed(at, event, file, revision, force=force)

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
    force: Anyhow = False,
) -> Result:
    """Note a payment by the client."""
    from estimator.archive.events import Event

    event = Event(number, 0, "paid", day(date), money(amount), reference, note=note)
    return _filed(at, event, file, force=force)


def reverse(
    at: Where,
    number: Number,
    entry: Annotated[int, typer.Argument(metavar="ENTRY", help="The paper's number, as `show` lists it.")],
    *,
    note: Annotated[str, typer.Option("--note", help="Why it is reversed.")],
    date: Day = "",
) -> Result:
    """Reverse a paper that was filed wrongly: both stay, neither counts, and the right one can be filed."""
    from estimator.archive.store import reverse as file_reversal

    done = file_reversal(at.folder(), number, entry, day(date), note)
    return done.problems, plain(done.events[0])


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
    force: Anyhow = False,
) -> Result:
    """File what the job really took: hours by task, cost by section. The last report counts.

    From a workbook, invoices and payments typed on its sheet Actuals are filed too, those that are not yet.
    """
    from estimator.archive.store import file_events

    root, on = at.folder(), day(date)
    plan, found = _reported(root, number, file, revision, on, note)
    done = file_events(root, number, plan, revision, force=force)
    return (*found, *done.problems), {"filed": [plain(event) for event in done.events]}


def _reported(
    root: Path, number: str, file: Path, revision: int | None, on: dt.date, note: str
) -> "tuple[Plan, Sequence[Problem]]":
    """Return what a workbook or list reports: what is to be filed, and what is left out of it."""
    from estimator.archive.billed import Row, billed
    from estimator.archive.events import Event, Spent, in_force
    from estimator.archive.files import digest
    from estimator.archive.finished import WORKBOOK, load, reported

    spent: Spent | None
    rows: tuple[Row, ...] = ()
    found: Sequence[Problem] = ()
    if file.suffix.lower() == WORKBOOK:
        spent, rows, found = reported(root, number, revision, file)
    else:
        spent = load(file)
    report = [] if spent is None else [(Event(number, 0, "actual", on, spent=spent, note=note), file)]

    def plan(filed: "Sequence[Event]") -> "list[tuple[Event, Path | None]]":
        standing = in_force(filed)
        typed = billed(rows, standing, number, on)
        last = next((e for e in reversed(standing) if e.kind == "actual"), None)
        new = report if last is None or last.sha256 != digest(file)[0] else []
        return [*((replace(event, note=note), None) for event in typed), *new]

    return plan, found


VERBS: Verbs = {
    "add": (add, archive_text.show_filed),
    "outcome": (outcome, archive_text.show_event),
    "invoice": (
        _bill("invoice", "File an invoice to the client beside its quote. A negative amount is a credit."),
        archive_text.show_event,
    ),
    "paid": (paid, archive_text.show_event),
    "receipt": (_bill("receipt", "File a receipt of what was bought for the job."), archive_text.show_event),
    "actual": (actual, archive_text.show_events),
    "reverse": (reverse, archive_text.show_event),
}
