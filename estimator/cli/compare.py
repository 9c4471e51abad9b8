"""The verb `compare`: two jobs, two revisions, or a job and its filed quote, side by side."""

import re
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from estimator.cli import compare_text
from estimator.cli.archive_folder import Folder, Shop, Where
from estimator.cli.options import Debug, Force, Json, Paper, Templates
from estimator.cli.output import run, say
from estimator.core.errors import Problem, refuse

if TYPE_CHECKING:
    from estimator.office.applied import Applied
    from estimator.tables.compare import Party

Side = tuple["Applied", "Party"]
REVISION = re.compile(r"(.+)-r([0-9]+)", re.ASCII)


def register(app: typer.Typer) -> None:
    """Add the verb to the program."""
    app.command("compare")(compare_verb)


def compare_verb(
    first: Annotated[
        str,
        typer.Argument(metavar="A", help="A job file, or a filed quote: its number, NUMBER-rN, or folder."),
    ],
    second: Annotated[
        str, typer.Argument(metavar="B", help="Another; left out, A is held against its filed quote.")
    ] = "",
    *,
    archive: Folder = None,
    practice: Shop = None,
    out: Annotated[
        Path | None, typer.Option("--out", metavar="FILE", help="Write a change order (HTML).")
    ] = None,
    paper: Paper = "",
    templates: Templates = None,
    force: Force = False,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """Show what differs between two estimates: scope, frames, quantities, cost, price, days, absorption."""

    def work() -> tuple[Iterable[Problem], dict[str, Any]]:
        from estimator.tables.compare import compare, compared

        at, job = Where(archive, practice), _job_file(first, second)
        if second:
            before, after = side(first, at, job), side(second, at, job)
        else:
            after = side(first, at, job)
            before = side(after[1].number, at, job)
        comparison = compare(before[0].estimate, after[0].estimate, (before[1], after[1]))
        if out is not None:
            from estimator.core.files import save
            from estimator.documents.files import Wishes, change_order_page

            wishes = Wishes(paper, templates=templates)
            save(out, change_order_page(before[0].estimate, after[0].estimate, wishes), force=force)
        return told(before, after), {**compared(comparison), "files": [str(out)] if out else []}

    run(work, show, as_json=as_json, debug=debug)


def show(result: dict[str, Any]) -> None:
    """Print a comparison and the files written."""
    compare_text.show_comparison(result)
    for file in result["files"]:
        say(file)


def told(before: Side, after: Side) -> list[Problem]:
    """Return what there is to say of both sides, each problem once, marked with the side it is of."""
    found: list[Problem] = []
    for other, (applied, party) in ((after, before), (before, after)):
        shared = set(other[0].problems)
        found += [
            p if p in shared else replace(p, where=f"{party.label}: {p.where}") for p in applied.problems
        ]
    return list(dict.fromkeys(found))


def _job_file(*names: str) -> Path | None:
    """Return the job file among what is compared, whose shop's archive is meant; None for none."""
    return next((Path(name) for name in names if Path(name).is_file()), None)


def side(name: str, at: Where, job: Path | None = None) -> Side:
    """Return the estimate that a word of the command line stands for, and what it is called.

    Args:
        name: a job file, the folder of a filed quote, a quote's number, or its number and revision.
        at: where the archive is, for quotes given by number.
        job: a job file of the shop whose archive it is.

    Raises:
        InputError: there is no such file, folder or quote, or it cannot be estimated.
        ArchiveError: what was filed is damaged.
    """
    from estimator.archive.as_filed import as_filed
    from estimator.archive.manifest import MANIFEST
    from estimator.archive.store import find_revision

    path = Path(name)
    if (path / MANIFEST).is_file():
        return as_filed(path)
    if path.is_file():
        return _job(path)
    if name.endswith(".toml") or path.is_dir():
        raise refuse(name, "is neither a job file nor a filed quote", "Check the path.")
    root, numbered = at.folder(job), REVISION.fullmatch(name)
    if numbered:
        return as_filed(find_revision(root, numbered[1], int(numbered[2]))[1])
    return as_filed(find_revision(root, name)[1])


def _job(path: Path) -> Side:
    from estimator.office.applied import applied
    from estimator.tables.compare import party

    found = applied(path)
    return found, party(path.name, found.estimate, len(found.edits))
