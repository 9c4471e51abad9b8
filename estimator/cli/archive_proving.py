"""``battenbook archive``: what proves that nothing changed. Verify, seal, rebuild, acknowledge."""

from typing import Annotated

import typer

from estimator.cli import archive_text
from estimator.cli.archive_folder import Where
from estimator.cli.verb import Result, Verbs, progress
from estimator.core.errors import ArchiveError, Problem, refuse


def verify(
    at: Where,
    *,
    held: Annotated[
        str, typer.Option("--seal", metavar="HEX", help="What `seal` printed once; held against it.")
    ] = "",
) -> Result:
    """Read every file; name what is damaged, missing, extra, moved or not proved; exit 5 if anything is."""
    from dataclasses import asdict

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


VERBS: Verbs = {
    "verify": (verify, archive_text.show_verdict),
    "seal": (seal, archive_text.show_seal),
    "rebuild": (rebuild, archive_text.show_rebuilt),
    "acknowledge": (acknowledge, archive_text.show_acknowledged),
}
