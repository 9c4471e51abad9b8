"""``battenbook archive``: file quotes and the papers that follow them."""

import datetime as dt
from collections.abc import Callable, Sequence
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from estimator.cli import archive_reading, archive_text
from estimator.cli.archive_reading import Debug, Folder, Json
from estimator.cli.output import run
from estimator.core.errors import Problem, refuse

if TYPE_CHECKING:
    from estimator.archive.events import Event

Number = Annotated[str, typer.Argument(metavar="NUMBER", help="The quote's number.")]
Amount = Annotated[str, typer.Option("--amount", metavar="MONEY", help="With tax, like 1637.37.")]
Date = Annotated[str, typer.Option("--date", metavar="YYYY-MM-DD", help="The date on the paper.")]
Revision = Annotated[int | None, typer.Option("--revision", help="The revision; the latest if not given.")]
Note = Annotated[str, typer.Option("--note", help="A remark to keep with it.")]
Paper = Annotated[Path, typer.Argument(metavar="FILE", help="The paper, a PDF or any other file.")]

commands = typer.Typer(
    help="File quotes, invoices and payments; see what is open; prove that nothing changed.",
    no_args_is_help=True,
    pretty_exceptions_enable=False,
)


def register(app: typer.Typer) -> None:
    """Add ``archive`` and its sub-commands to the command."""
    app.add_typer(commands, name="archive")


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


@commands.command()
def add(
    job: Annotated[Path, typer.Argument(metavar="JOB", help="The job file.")],
    *,
    paper: Annotated[str, typer.Option(help="Paper of the workbook and papers: letter or a4.")] = "letter",
    price_by: Annotated[str, typer.Option(help="The quote's price: one sum, by section or by wall.")] = "sum",
    templates: Annotated[Path | None, typer.Option(help="An office's own templates.")] = None,
    archive: Folder = None,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """File a job's quote: job file, price list and terms as used, workbook, papers."""

    def work() -> tuple[tuple[Problem, ...], dict[str, Any]]:
        from dataclasses import asdict

        from estimator.archive.gather import gather
        from estimator.archive.store import file_quote
        from estimator.cli.estimate import estimated
        from estimator.documents.files import Wishes

        result, problems = estimated(job)
        own = "" if archive else result.catalogue.practice.firm.archive
        root = archive_reading.folder(job.parent / own if own else archive)
        quote, sources = gather(job, result, Wishes(paper, price_by, templates))
        done = file_quote(root, quote, sources, dt.datetime.now(dt.UTC))
        return problems, {"archive": str(root), **asdict(done)}

    run(work, archive_text.show_filed, as_json=as_json, debug=debug)


def _file(
    archive: Path | None,
    make: "Callable[[], Event]",
    paper: Path | None,
    revision: int | None,
    found: Sequence[Problem] = (),
    *,
    as_json: bool,
    debug: bool,
) -> None:
    """File an event and say where it went; `found` holds what `make` finds to say."""

    def work() -> tuple[Sequence[Problem], dict[str, Any]]:
        from dataclasses import asdict

        from estimator.archive.invoices import file_event

        event = file_event(archive_reading.folder(archive), make(), paper, revision)
        return found, {k: v for k, v in asdict(event).items() if k != "spent" or event.kind == "actual"}

    run(work, archive_text.show_event, as_json=as_json, debug=debug)


@commands.command()
def invoice(
    number: Number,
    file: Paper,
    *,
    amount: Amount,
    date: Date,
    reference: Annotated[
        str, typer.Option("--reference", help="The invoice's number; else the file's name.")
    ] = "",
    revision: Revision = None,
    note: Note = "",
    archive: Folder = None,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """File an invoice to the client beside its quote. A negative amount is a credit."""

    def make() -> "Event":
        from estimator.archive.events import Event

        return Event(number, 0, "invoice", day(date), money(amount), reference or file.stem, note=note)

    _file(archive, make, file, revision, as_json=as_json, debug=debug)


@commands.command()
def receipt(
    number: Number,
    file: Paper,
    *,
    amount: Amount,
    date: Date,
    reference: Annotated[
        str, typer.Option("--reference", help="The receipt's number; else the file's name.")
    ] = "",
    revision: Revision = None,
    note: Note = "",
    archive: Folder = None,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """File a receipt of what was bought for the job."""

    def make() -> "Event":
        from estimator.archive.events import Event

        return Event(number, 0, "receipt", day(date), money(amount), reference or file.stem, note=note)

    _file(archive, make, file, revision, as_json=as_json, debug=debug)


@commands.command()
def paid(
    number: Number,
    *,
    amount: Amount,
    date: Date,
    reference: Annotated[str, typer.Option("--invoice", help="The invoice that it pays.")] = "",
    file: Annotated[
        Path | None, typer.Option("--file", metavar="FILE", help="The bank's paper, if any.")
    ] = None,
    note: Note = "",
    archive: Folder = None,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """Note a payment by the client."""

    def make() -> "Event":
        from estimator.archive.events import Event

        return Event(number, 0, "paid", day(date), money(amount), reference, note=note)

    _file(archive, make, file, None, as_json=as_json, debug=debug)


@commands.command()
def outcome(
    number: Number,
    result: Annotated[str, typer.Argument(metavar="won|lost", help="How the quote ended.")],
    *,
    date: Date = "",
    revision: Revision = None,
    note: Note = "",
    archive: Folder = None,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """Note that a quote was won or lost. The last word counts."""

    def make() -> "Event":
        from estimator.archive.events import Event

        if result not in {"won", "lost"}:
            raise refuse("outcome", f"{result!r} is neither won nor lost", "Say won or lost.")
        return Event(number, 0, "outcome", day(date), outcome="won" if result == "won" else "lost", note=note)

    _file(archive, make, None, revision, as_json=as_json, debug=debug)


@commands.command()
def actual(
    number: Number,
    file: Annotated[
        Path, typer.Argument(metavar="FILE", help="The workbook, Actuals filled in; or a .csv or .json.")
    ],
    *,
    date: Date = "",
    revision: Revision = None,
    note: Note = "",
    archive: Folder = None,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """File what the job really took: hours by task, cost by section. The last report counts."""
    found: list[Problem] = []

    def make() -> "Event":
        from estimator.archive.events import Event

        if file.suffix.lower() == ".xlsx":
            from estimator.cli.returned import reported

            spent, problems = reported(archive_reading.folder(archive), number, revision, file)
            found.extend(problems)
        else:
            from estimator.archive.actuals import load

            spent = load(file)
        return Event(number, 0, "actual", day(date), spent=spent, note=note)

    _file(archive, make, file, revision, found, as_json=as_json, debug=debug)


archive_reading.register(commands)
