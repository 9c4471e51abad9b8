"""``battenbook archive``: what reads it, and what proves that nothing changed."""

from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from estimator.cli import archive_text
from estimator.cli.output import Force, Number, Result, Revision, Verbs, Where, day, progress
from estimator.core.errors import ArchiveError, Problem, refuse
from estimator.core.files import new_folder, save, save_all

if TYPE_CHECKING:
    from estimator.archive.index import Account


def verify(
    at: Where,
    *,
    held: Annotated[
        str, typer.Option("--seal", metavar="HEX", help="What `seal` printed once; held against it.")
    ] = "",
) -> Result:
    """Read every file; name what is damaged, missing, extra, moved or not proved; exit 5 if anything is."""
    from estimator.archive.verify import verify as check

    verdict = check(at.folder(), progress("Verifying"), held)
    if verdict.problems:
        raise ArchiveError((*verdict.problems, *verdict.words))
    return verdict.words, {k: v for k, v in asdict(verdict).items() if k not in {"problems", "words"}}


def seal(at: Where) -> Result:
    """Print one line of hex to keep elsewhere: it stands for every file that is filed now."""
    from estimator.archive import ledger
    from estimator.archive.ledger import existing

    place = existing(at.folder())
    found = ledger.read(place)
    if found.problem:
        raise ArchiveError(ledger.wrong(place, found))
    return (), {"seal": list(found.seals)[-1], "entries": len(found.entries)}


def rebuild(at: Where) -> Result:
    """Make index and ledger anew from the folders; what the ledger did not know is named, and not proved."""
    from estimator.archive.filing import rebuild as again

    found, entered = again(at.folder(), progress("Reading"))
    fix = "Hold it against a backup; if it is right, `battenbook archive acknowledge` it."
    new = [Problem(e.folder, "was not in the ledger: entered, not proved", fix, severity="warning")
           for e in entered]  # fmt: skip
    return (*found.problems, *new), {
        "quotes": len(found.quotes),
        "papers": len(found.events),
        "entered": [e.folder for e in entered],
    }


def acknowledge(
    at: Where,
    number: Annotated[str, typer.Argument(metavar="NUMBER", help="The quote's number.")] = "",
    *,
    note: Annotated[str, typer.Option("--note", help="Why it is right; kept in the ledger.")],
    every: Annotated[bool, typer.Option("--all", help="Of every quote.")] = False,
) -> Result:
    """Take for good what `rebuild` found and nothing proves: one quote with its papers, or all."""
    from estimator.archive.filing import acknowledge as take
    from estimator.archive.ledger import existing
    from estimator.archive.names import number_key

    word = " ".join(note.split())
    if not word or not word.isprintable():
        raise refuse("--note", "nothing says why it is right", "Say what it was held against, in one line.")
    if every == bool(number):
        raise refuse("NUMBER", "which quote is not said", "Give its number, or say --all.")
    taken = take(existing(at.folder()), number_key(number), word)
    if not taken:
        raise refuse(
            number or "--all", "nothing of it is not proved", "`battenbook archive verify` says what is."
        )
    return (), {"acknowledged": [e.folder for e in taken], "note": word}


Client = Annotated[str, typer.Option("--client", help="A part of the client's name.")]
Year = Annotated[int | None, typer.Option("--year", help="The year on the quote.")]
Standing = Annotated[str, typer.Option("--outcome", metavar="open|won|lost", help="How it stands.")]
Out = Annotated[Path | None, typer.Option("--out", metavar="FILE", help="Write to this file.")]
NEWEST = 50
Every = Annotated[
    bool, typer.Option("--all", help=f"Print every quote, not the newest {NEWEST}; --json has all anyhow.")
]
OUTCOMES = ("", "open", "won", "lost")


def _accounts(at: Where) -> "tuple[tuple[Account, ...], tuple[Problem, ...]]":
    from estimator.archive.index import accounts, contents

    held = contents(at.folder(), progress("Reading"))
    return accounts(held), held.problems


def find(
    at: Where,
    text: Annotated[str, typer.Argument(metavar="TEXT", help="Words in number, client, job or site.")],
    *,
    client: Client = "",
    year: Year = None,
    outcome: Standing = "",
    every: Every = False,
) -> Result:
    """Find quotes by words in their number, client, job or site."""
    from estimator.archive.index import matching

    if outcome not in OUTCOMES:
        raise refuse("--outcome", f"{outcome!r} is not known", "Say open, won or lost.")
    held, problems = _accounts(at)
    found = sorted(matching(held, text, client, year, outcome), key=lambda a: a.date)
    printed = len(found) if every else min(len(found), NEWEST)
    return problems, {"quotes": [_plain(a) for a in found], "printed": printed}


def list_(
    at: Where, *, client: Client = "", year: Year = None, outcome: Standing = "", every: Every = False
) -> Result:
    """List quotes, the newest last: quoted, invoiced, paid, actual, and what is open."""
    return find(at, "", client=client, year=year, outcome=outcome, every=every)


def _plain(account: "Account") -> dict[str, Any]:
    """Return an account by field; its fields hold no records of their own, so nothing need be copied."""
    return {name: getattr(account, name) for name in account.__slots__}


def show(
    at: Where,
    number: Number,
    revision: Annotated[
        int | None, typer.Option("--revision", help="The revision; else the one that counts.")
    ] = None,
) -> Result:
    """Show one quote: its account, its price, its lines, and every paper filed with it."""
    from estimator.archive.ledger import existing
    from estimator.archive.names import number_key
    from estimator.archive.store import events_of, find_revision
    from estimator.archive.summary import read_quote

    root = at.folder()
    _, place = find_revision(root, number, revision)
    found, problems = _accounts(at)
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


def copy(
    at: Where,
    number: Number,
    *,
    revision: Revision = None,
    out: Annotated[Path, typer.Option("--out", metavar="DIR", help="Folder for the copy.")],
    force: Force = False,
) -> Result:
    """Copy a filed quote out to go on from: its job file, edits and tables, which come to the filed price."""
    from contextlib import ExitStack

    from estimator.archive.reopen import copied
    from estimator.archive.store import find_revision

    revision, folder = find_revision(at.folder(), number, revision)
    files = copied(folder, out)
    with ExitStack() as made:
        for place in sorted({path.parent for path in files}):
            made.enter_context(new_folder(place))
        save_all(files, force=force)
    return (), {"number": number, "revision": revision, "files": [str(path) for path in files]}


def stats(
    at: Where,
    *,
    client: Client = "",
    year: Year = None,
    out: Out = None,
    force: Force = False,
) -> Result:
    """Show won and lost, margin quoted and earned, price per area; with --out, a workbook of it."""
    from estimator.archive.index import matching
    from estimator.archive.stats import figures, plain

    found, problems = _accounts(at)
    chosen = matching(found, "", client, year)
    if out is not None:
        from estimator.archive.stats_workbook import workbook

        save(out, workbook(chosen), force=force)
    tables = {f"by_{by}": plain(figures(chosen, by)) for by in ("year", "client")}
    return problems, {**tables, "file": None if out is None else str(out)}


def export(
    at: Where,
    what: Annotated[
        str,
        typer.Argument(
            metavar="WHAT", help="journal, quotes, papers, lines; or of one quote: quotation, invoice."
        ),
    ],
    number: Annotated[
        str, typer.Argument(metavar="NUMBER", help="The quote, for quotation and invoice.")
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
) -> Result:
    """Export for the bookkeeper: journal, tables (CSV, JSON), a UBL 2.1 Quotation or Invoice."""
    from estimator.archive.exporting import ExportWanted, exported

    since, until = day(first, "--from") if first else None, day(last, "--to") if last else None
    wanted = ExportWanted(what, number, form, since, until, accounts, reference, revision)
    content = exported(at.folder(), wanted)
    if out is not None:
        save(out, content, force=force)
        return (), {"file": str(out), "bytes": len(content)}
    return (), {"file": None, "content": content.decode("utf-8-sig")}


VERBS: Verbs = {
    "list": (list_, archive_text.show_list),
    "find": (find, archive_text.show_list),
    "show": (show, archive_text.show_quote),
    "copy": (copy, archive_text.show_copy),
    "stats": (stats, archive_text.show_stats),
    "export": (export, archive_text.show_export),
    "verify": (verify, archive_text.show_verdict),
    "seal": (seal, archive_text.show_seal),
    "rebuild": (rebuild, archive_text.show_rebuilt),
    "acknowledge": (acknowledge, archive_text.show_acknowledged),
}
