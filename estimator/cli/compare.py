"""The verbs `compare` and `reprice`: two jobs, two revisions, a job and its filed quote, or one repriced."""

import datetime as dt
import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from estimator.cli.archive_text import MISSING, money, percent, plain, short, table
from estimator.cli.estimate import keeping
from estimator.cli.output import (
    Force,
    Job,
    Keeping,
    Paper,
    PriceBy,
    Result,
    Templates,
    Verbs,
    Where,
    day,
    say,
)
from estimator.core.errors import Problem, refuse

if TYPE_CHECKING:
    from estimator.office.edits import Applied
    from estimator.tables.compare import Party


Side = tuple["Applied", "Party"]
REVISION = re.compile(r"(.+)-r([0-9]+)", re.ASCII)


def compare_verb(
    at: Where,
    first: Annotated[
        str,
        typer.Argument(metavar="A", help="A job file, or a filed quote: its number, NUMBER-rN, or folder."),
    ],
    second: Annotated[
        str, typer.Argument(metavar="B", help="Another; left out, A is held against its filed quote.")
    ] = "",
    *,
    out: Annotated[
        Path | None, typer.Option("--out", metavar="FILE", help="Write a change order (HTML).")
    ] = None,
    paper: Paper = "",
    templates: Templates = None,
    force: Force = False,
) -> Result:
    """Show what differs between two estimates: scope, frames, quantities, cost, price, days, absorption."""
    from estimator.tables.compare import compare, compared

    job = _job_file(first, second)
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


def show(result: dict[str, Any]) -> None:
    """Print a comparison and the files written."""
    show_comparison(result)
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
    from estimator.archive.manifest import MANIFEST
    from estimator.archive.reopen import as_filed
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
    from estimator.office.edits import applied
    from estimator.tables.compare import party

    found = applied(path)
    return found, party(path.name, found.estimate, len(found.edits))


Shown = Mapping[str, Any]
LONGEST = 48


def show_comparison(result: dict[str, Any]) -> None:
    """Print a comparison; parts in which nothing differs are left out."""
    before, after = result["before"], result["after"]
    for head, one in (("Before", before), ("After", after)):
        edits = f", {one['edits']} inputs as the office changed them" if one["edits"] else ""
        say(f"{head}: {plain(one['number'])}, {plain(one['label'])}, {one['date']}{edits}")
    if result["same"]:
        say("Nothing differs.")
        return
    _scope(result["scope"])
    _frames(result["frames"])
    _lines(result["quantities"], result["currency"])
    _moves("Labour, hours", result["labour"])
    _moves(f"Price, {result['currency']}", result["totals"], shares=("margin",))
    _moves(f"Options with tax, {result['currency']}", [m for m in result["options"] if m["change"]])
    _moves("Days", [m for m in result["days"] if m["change"]])
    _sound(result["absorption"])


def _part(heads: Sequence[str], rows: Sequence[Sequence[str]], right: Sequence[int]) -> None:
    """Print a part of a comparison; nothing where it has no row."""
    if rows:
        say("")
        table(heads, rows, right)


def _scope(found: Sequence[Shown]) -> None:
    rows = [[short(d[k], LONGEST) for k in ("where", "was", "now")] for d in found]
    _part(["What the job says", "Before", "After"], rows, ())


def _size(frame: Shown | None) -> str:
    if frame is None:
        return MISSING
    cloth = " ".join(plain(frame[k]) for k in ("fabric", "colour") if frame[k])
    return f"{frame['width']} × {frame['height']} × {frame['depth']} {cloth}"


def _frames(found: Sequence[Shown]) -> None:
    rows = [[f["name"], _size(f["before"]), _size(f["after"])] for f in found]
    _part(["Frame", "Before", "After"], rows, ())


def _lines(found: Sequence[Shown], currency: str) -> None:
    sides = ("before", "after")
    rows = [
        [short(n["description"], LONGEST), n["unit"], *(f"{n['bought'][k]:,.2f}" for k in sides),
         *(money(n["cost"][k]) for k in sides), f"{n['cost']['change']:+,.2f}"]
        for n in found
    ]  # fmt: skip
    heads = ["Line", "", "Bought", "now", f"Cost {currency}", "now", "Change"]
    _part(heads, rows, (2, 3, 4, 5, 6))


def _moves(title: str, moves: Sequence[Shown], shares: Sequence[str] = ()) -> None:
    rows = []
    for m in moves:
        if m["key"] in shares:
            change = f"{100 * m['change']:+.1f}"
            rows.append([plain(m["label"]), percent(m["before"]), percent(m["after"]), change, ""])
        else:
            part = "" if m["share"] is None else f"{100 * m['share']:+.1f} %"
            figures = [money(m["before"]), money(m["after"]), f"{m['change']:+,.2f}"]
            rows.append([short(m["label"], LONGEST), *figures, part])
    _part([title, "Before", "After", "Change", ""], rows, (1, 2, 3, 4))


def _sound(octaves: Sequence[Shown]) -> None:
    if not any(o["absorption_m2"]["before"] != o["absorption_m2"]["after"] for o in octaves):
        return
    rows = [
        [f"{o['hz']} Hz", *(f"{o['absorption_m2'][k]:.2f}" for k in ("before", "after")),
         *(_span(o["time_s"][k]) for k in ("before", "after"))]
        for o in octaves
    ]  # fmt: skip
    _part(["Treated room, estimated", "m² before", "m² after", "s before", "s after"], rows, (1, 2, 3, 4))


def _span(times: Sequence[float | None]) -> str:
    low, high = times
    return MISSING if low is None or high is None else f"{low:.2f}-{high:.2f}"


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
    more = _own_files(job, out, after, changes) if out else {}
    files = write_all(after.estimate, out, wishes, force=force, more=more) if out else ()
    return after.problems, {**_moved(job, before, after), "files": [str(f) for f in files]}


def _own_files(job: Path, out: Path, after: "Applied", changes: Mapping[str, object]) -> dict[Path, bytes]:
    """Return the repriced job's own file and edits: it is a job like any other."""
    from estimator.office.edits import named_from, placed

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


VERBS: Verbs = {"compare": (compare_verb, show), "reprice": (reprice_verb, show)}
