"""``battenbook archive``: what reads it. List, show, find, verify, stats, rebuild, export."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from estimator.cli import archive_text
from estimator.cli.output import progress_wanted, run
from estimator.core.errors import ArchiveError, Problem, refuse

if TYPE_CHECKING:
    from estimator.archive.account import Account

Result = tuple[tuple[Problem, ...], dict[str, Any]]
Folder = Annotated[
    Path | None,
    typer.Option("--archive", metavar="DIR", envvar="BATTENBOOK_ARCHIVE", help="The archive's folder."),
]
Json = Annotated[bool, typer.Option("--json", help="Print one JSON object.")]
Debug = Annotated[bool, typer.Option("--debug", help="Show the traceback of a failure.")]
Client = Annotated[str, typer.Option("--client", help="A part of the client's name.")]
Year = Annotated[int | None, typer.Option("--year", help="The year on the quote.")]
Standing = Annotated[str, typer.Option("--outcome", metavar="open|won|lost", help="How it stands.")]
Out = Annotated[Path | None, typer.Option("--out", metavar="FILE", help="Write to this file.")]
Force = Annotated[bool, typer.Option("--force", help="Replace the file if it is there.")]
OUTCOMES = ("", "open", "won", "lost")


def register(commands: typer.Typer) -> None:
    """Add the verbs that read to ``archive``."""
    for name, verb in VERBS.items():
        commands.command(name)(verb)


def folder(given: Path | None) -> Path:
    """Return the archive's folder.

    Raises:
        InputError: none was named.
    """
    if given is None:
        fix = "Give its folder with --archive DIR, set BATTENBOOK_ARCHIVE, or name it in the shop practice."
        raise refuse("--archive", "no archive was named", fix)
    return given


def _progress(label: str) -> Callable[[int, int], None] | None:
    """Return what draws progress on a terminal, None where there is none."""
    if not progress_wanted():
        return None

    def draw(done: int, of: int) -> None:
        typer.echo(f"\r{label} {done} of {of}", err=True, nl=done == of)

    return draw


def _accounts(archive: Path | None) -> "tuple[tuple[Account, ...], tuple[Problem, ...]]":
    from estimator.archive.account import accounts
    from estimator.archive.index import contents

    held = contents(folder(archive), _progress("Reading"))
    return accounts(held), held.problems


def _listed(archive: Path | None, text: str, client: str, year: int | None, outcome: str) -> Result:
    from estimator.archive.account import matching

    if outcome not in OUTCOMES:
        raise refuse("--outcome", f"{outcome!r} is not known", "Say open, won or lost.")
    found, problems = _accounts(archive)
    return problems, {"quotes": [_plain(a) for a in matching(found, text, client, year, outcome)]}


def _plain(account: "Account") -> dict[str, Any]:
    """Return an account by field; its fields hold no records of their own, so nothing need be copied."""
    return {name: getattr(account, name) for name in account.__slots__}


def list_(
    *,
    client: Client = "",
    year: Year = None,
    outcome: Standing = "",
    archive: Folder = None,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """List quotes: quoted, invoiced, paid, actual, and what is open."""
    run(
        lambda: _listed(archive, "", client, year, outcome),
        archive_text.show_list,
        as_json=as_json,
        debug=debug,
    )


def find(
    text: Annotated[str, typer.Argument(metavar="TEXT", help="Words in number, client, job or site.")],
    *,
    client: Client = "",
    year: Year = None,
    outcome: Standing = "",
    archive: Folder = None,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """Find quotes by words in their number, client, job or site."""
    run(
        lambda: _listed(archive, text, client, year, outcome),
        archive_text.show_list,
        as_json=as_json,
        debug=debug,
    )


def show(
    number: Annotated[str, typer.Argument(metavar="NUMBER", help="The quote's number.")],
    revision: Annotated[
        int | None, typer.Option("--revision", help="The revision; else the one that counts.")
    ] = None,
    archive: Folder = None,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """Show one quote: its account, its price, its lines, and every paper filed with it."""

    def work() -> Result:
        from dataclasses import asdict

        from estimator.archive.invoices import events_of
        from estimator.archive.names import number_key
        from estimator.archive.place import existing
        from estimator.archive.store import find_revision, read_quote

        root = folder(archive)
        _, place = find_revision(root, number, revision)
        found, problems = _accounts(root)
        account = next((a for a in found if number_key(a.number) == number_key(number)), None)
        if account is not None and revision is None:
            place = root / account.folder
        quote = read_quote(place)
        papers = [asdict(e) for e in events_of(existing(root), number)]
        return problems, {
            "account": _plain(account) if account else None,
            "quote": asdict(quote),
            "papers": papers,
            "folder": str(place),
        }

    run(work, archive_text.show_quote, as_json=as_json, debug=debug)


def verify(archive: Folder = None, as_json: Json = False, debug: Debug = False) -> None:
    """Read every file and name what is damaged, missing, extra or moved; exit 5 if anything is."""

    def work() -> Result:
        from dataclasses import asdict

        from estimator.archive.verify import verify as check

        verdict = check(folder(archive), _progress("Verifying"))
        if verdict.problems:
            raise ArchiveError(verdict.problems)
        return (), {k: v for k, v in asdict(verdict).items() if k != "problems"}

    run(work, archive_text.show_verdict, as_json=as_json, debug=debug)


def rebuild(archive: Folder = None, as_json: Json = False, debug: Debug = False) -> None:
    """Make the index anew from the folders."""

    def work() -> Result:
        from estimator.archive.index import rebuild as again

        held = again(folder(archive), _progress("Reading"))
        return held.problems, {"quotes": len(held.quotes), "papers": len(held.events)}

    run(work, archive_text.show_rebuilt, as_json=as_json, debug=debug)


def stats(
    *,
    client: Client = "",
    year: Year = None,
    out: Out = None,
    force: Force = False,
    archive: Folder = None,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """Show won and lost, margin quoted and earned, price per area; with --out, a workbook of it."""

    def work() -> Result:
        from estimator.archive.account import matching
        from estimator.archive.files import save
        from estimator.archive.stats import figures, plain

        found, problems = _accounts(archive)
        chosen = matching(found, "", client, year)
        if out is not None:
            from estimator.archive.stats_workbook import workbook

            save(out, workbook(chosen), force=force)
        tables = {f"by_{by}": plain(figures(chosen, by)) for by in ("year", "client")}
        return problems, {**tables, "file": None if out is None else str(out)}

    run(work, archive_text.show_stats, as_json=as_json, debug=debug)


def export(
    what: Annotated[
        str, typer.Argument(metavar="journal|quotes|papers|lines|quotation|invoice", help="What to export.")
    ],
    number: Annotated[
        str, typer.Argument(metavar="[NUMBER]", help="The quote, for quotation and invoice.")
    ] = "",
    *,
    form: Annotated[str, typer.Option("--format", metavar="csv|json", help="For the tables.")] = "csv",
    first: Annotated[
        str, typer.Option("--from", metavar="YYYY-MM-DD", help="Journal and papers from here.")
    ] = "",
    last: Annotated[
        str, typer.Option("--to", metavar="YYYY-MM-DD", help="Journal and papers up to here.")
    ] = "",
    accounts: Annotated[
        Path | None, typer.Option("--accounts", metavar="FILE", help="Your chart of accounts (TOML).")
    ] = None,
    reference: Annotated[str, typer.Option("--reference", help="The invoice; else the latest.")] = "",
    revision: Annotated[int | None, typer.Option("--revision", help="The revision; else the latest.")] = None,
    out: Out = None,
    force: Force = False,
    archive: Folder = None,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """Export for the bookkeeper: journal, tables (CSV, JSON), a UBL 2.1 Quotation or Invoice."""

    def work() -> Result:
        from estimator.archive.exporting import Wanted, exported
        from estimator.archive.files import save

        wanted = Wanted(what, number, form, first, last, accounts, reference, revision)
        content = exported(folder(archive), wanted)
        if out is not None:
            save(out, content, force=force)
            return (), {"file": str(out), "bytes": len(content)}
        return (), {"file": None, "content": content.decode("utf-8-sig")}

    run(work, archive_text.show_export, as_json=as_json, debug=debug)


VERBS: dict[str, Callable[..., None]] = {
    "list": list_, "find": find, "show": show, "verify": verify, "rebuild": rebuild, "stats": stats,
    "export": export,
}  # fmt: skip
