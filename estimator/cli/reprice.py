"""The verb `reprice`: the same scope for another client, another price date or another shop."""

import datetime as dt
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from estimator.cli.compare import show
from estimator.cli.estimate import keeping
from estimator.cli.options import Force, Job, Keeping, Paper, PriceBy, Templates, day
from estimator.cli.verb import Result, Verbs
from estimator.core.errors import refuse

if TYPE_CHECKING:
    from estimator.office.edits import Applied


def reprice_verb(
    job: Job,
    *,
    prices: Annotated[str, typer.Option(metavar="FILE", help="Another price list (CSV).")] = "",
    terms: Annotated[str, typer.Option(metavar="FILE", help="Another client's terms (TOML).")] = "",
    practice: Annotated[str, typer.Option(metavar="FILE", help="Another shop's practice (TOML).")] = "",
    labour: Annotated[str, typer.Option(metavar="FILE", help="Other labour rates (TOML).")] = "",
    client: Annotated[str, typer.Option(help="The client it is now for.")] = "",
    number: Annotated[str, typer.Option(help="The number it now has.")] = "",
    date: Annotated[str, typer.Option(metavar="YYYY-MM-DD", help="The date it now has.")] = "",
    out: Annotated[
        Path | None,
        typer.Option("--out", metavar="DIR", help="Folder for the new job file, workbook and papers."),
    ] = None,
    paper: Paper = "",
    price_by: PriceBy = "sum",
    templates: Templates = None,
    keep: Keeping = None,
    force: Force = False,
) -> Result:
    """Price the same job with other prices, terms, practice or rates, and show what moved."""
    from estimator.documents.files import Wishes, write_all
    from estimator.office.edits import applied, repriced

    side = keeping(keep)
    asked = {"prices": prices, "terms": terms, "practice": practice, "labour": labour}
    header = {"client": client, "number": number, "date": date}
    before, changes = applied(job, side), wanted(asked, header)
    after = repriced(before, changes)
    wishes = Wishes(paper, price_by, templates)
    more = _job_file(job, out, after, changes) if out else {}
    files = write_all(after.estimate, out, wishes, force=force, more=more) if out else ()
    return after.problems, {**_moved(job, before, after), "files": [str(f) for f in files]}


def _job_file(job: Path, out: Path, after: "Applied", changes: Mapping[str, object]) -> dict[Path, bytes]:
    """Return the repriced job's own file and edits: it is a job like any other."""
    from estimator.office.placed import named_from, placed

    header = after.estimate.job.header
    named = named_from(header, job.resolve().parent, out)
    return placed(job, out / f"{header.number}-job.toml", {**changes, **named}, after.edits, header.number)


def _moved(job: Path, before: "Applied", after: "Applied") -> dict[str, Any]:
    """Return what moved between the job as it was and as repriced, as the JSON answer gives it."""
    from estimator.tables.compare import compare, compared, party

    parties = (
        party(job.name, before.estimate, len(before.edits)),
        party(f"{job.name}, repriced", after.estimate, len(after.edits)),
    )
    return compared(compare(before.estimate, after.estimate, parties))


def wanted(asked: dict[str, str], header: dict[str, str]) -> dict[str, object]:
    """Return the keys of ``[job]`` to change, each with what it is to hold.

    Args:
        asked: price list, terms, practice, labour rates by key, '' where the job's own stay.
        header: client, number and date likewise.

    Raises:
        InputError: nothing is to change, a file is not there, or a value cannot stand in the job file.
    """
    changes: dict[str, object] = {key: _place(key, name) for key, name in asked.items() if name}
    changes |= {key: text for key, text in header.items() if text}
    if not changes:
        fix = f"Give one of {', '.join(f'--{key}' for key in (*asked, *header))}."
        raise refuse("reprice", "nothing is to change", fix)
    if header["date"]:
        changes["date"] = day(header["date"])
    _check_header(changes)
    return changes


def _place(key: str, name: str) -> str:
    """Return a shipped name as it is, a file by its whole path."""
    path = Path(name)
    if path.is_file():
        return str(path.resolve())
    if path.suffix or path.name != name:
        raise refuse(f"--{key}", f"there is no file {name!r}", "The path is from where you are.")
    return name


def _check_header(changes: dict[str, object]) -> None:
    from pydantic import ValidationError

    from estimator.job.description import Header

    least = {"number": "1", "title": "-", "client": "-", "date": dt.date.min, "currency": "CAD"}
    try:
        Header.model_validate({**least, **changes})
    except ValidationError as error:
        first = error.errors()[0]
        key = first["loc"][0]
        raise refuse(f"--{key}", f"{changes[str(key)]!r} cannot stand there", first["msg"]) from None


VERBS: Verbs = {"reprice": (reprice_verb, show)}
