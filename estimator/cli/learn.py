"""`battenbook learn`: what finished jobs make of the labour rates."""

import os
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from estimator.cli.output import VARIABLE, Force, Result, Verbs, Where, say
from estimator.core.errors import InputError, Problem, refuse

if TYPE_CHECKING:
    from estimator.catalogue.labour import LabourBook
    from estimator.labour.learning import Actual

PLACES = 3


@dataclass(frozen=True, slots=True)
class Sources:
    """Where hours as worked are: a CSV file, jobs with their workbooks in pairs, an archive."""

    actuals: Path | None
    jobs: tuple[Path, ...]
    workbooks: tuple[Path, ...]
    archive: Path | None

    def filed(self) -> Path | None:
        """Return the archive to learn from: the one typed, else the shop's where nothing else is given.

        Raises:
            InputError: nothing is given, and no archive is named anywhere.
        """
        if self.archive is not None or self.actuals or self.jobs:
            return self.archive
        named = os.environ.get(VARIABLE)
        return Where(Path(named) if named else None).folder()


def _spent(sources: Sources, book: "LabourBook") -> "tuple[tuple[Actual, ...], tuple[Problem, ...]]":
    from estimator.archive.finished import archived_actuals
    from estimator.intake.files import read_text
    from estimator.labour.learning import actuals_of
    from estimator.office.returned import learned_from, open_elsewhere

    if len(sources.jobs) != len(sources.workbooks):
        raise refuse("--workbook", "each workbook needs its job", "Give --job and --workbook in pairs.")
    listed = sources.actuals
    found = actuals_of(read_text(listed, str(listed)), book, str(listed)) if listed else ()
    pairs = zip(sources.jobs, sources.workbooks, strict=True)
    found = (*found, *(one for job, workbook in pairs for one in learned_from(job, workbook)))
    fix = "File what finished jobs took with `battenbook archive actual`, or give a list of hours (CSV)."
    nothing = Problem("actuals", "there is nothing to learn from", fix)
    try:
        archive = sources.filed()
    except InputError as error:
        raise InputError([nothing, *error.problems]) from None
    filed, problems = archived_actuals(archive) if archive else ((), ())
    if not (found or filed):
        raise InputError([nothing, *problems])
    unsaved = (problem for workbook in sources.workbooks for problem in open_elsewhere(workbook))
    return (*found, *filed), (*unsaved, *problems)


def _show(result: dict[str, Any]) -> None:
    say(f"Minutes for one unit; a rate so far counts for {result['prior_jobs']} jobs.")
    say(f"{'task':<16}{'unit':>6}{'old':>10}{'new':>10}{'jobs alone':>12}{'jobs':>6}{'hours':>9}")
    for row in result["rates"]:
        say(
            f"{row['task']:<16}{row['unit']:>6}{row['old_minutes']:>10}{row['new_minutes']:>10}"
            f"{row['data_minutes']:>12}{row['jobs']:>6}{row['hours']:>9.2f}"
        )
    if result["file"]:
        say(f'Wrote {result["file"]}. A job uses it with: labour = "{result["file"]}"')
    else:
        say("Nothing is changed. Write the new rates into a file with --write FILE.")


def learn(
    actuals: Annotated[
        Path | None, typer.Argument(metavar="FILE", help="CSV: job, task, quantity, unit, hours, difficulty.")
    ] = None,
    *,
    job: Annotated[
        list[Path] | None, typer.Option(metavar="JOB", help="Job file of a finished job; repeat.")
    ] = None,
    workbook: Annotated[
        list[Path] | None,
        typer.Option(metavar="WORKBOOK", help="Its workbook, hours filled in; repeat in step."),
    ] = None,
    archive: Annotated[
        Path | None,
        typer.Option(
            "--archive",
            metavar="DIR",
            help="Learn from every filed quote with actuals; the shop's archive where nothing else is given.",
        ),
    ] = None,
    rates: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Labour file to start from; else the shipped one.")
    ] = None,
    weight: Annotated[
        float | None, typer.Option(min=0, max=1000, help="Jobs that a rate so far counts for.")
    ] = None,
    write: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Write the new rates into this labour file.")
    ] = None,
    force: Force = False,
) -> Result:
    """Show what hours as worked make of the labour rates; write them only when told to.

    Without a list or job it learns from every filed quote with actuals, in the shop's archive.
    """
    from decimal import Decimal

    from estimator.catalogue.labour import SHIPPED, LabourBook, load_labour
    from estimator.core.files import save
    from estimator.intake.files import read_text
    from estimator.job.document import parse_document, validated
    from estimator.labour.learning import learned_rates, with_rates

    book = load_labour(rates)
    sources = Sources(actuals, tuple(job or ()), tuple(workbook or ()), archive)
    spent, problems = _spent(sources, book)
    prior = book.learning.prior_jobs if weight is None else Decimal(str(weight))
    found = learned_rates(book, spent, prior)
    if write is not None:
        text = with_rates(read_text(rates or SHIPPED, str(rates or "labour.toml")), book, found)
        validated(LabourBook, parse_document(text, str(write)))
        save(write, text.encode(), force=force)
    rows = [
        {
            "task": key,
            "unit": book.by_key[key].unit,
            "old_minutes": round(rate.old * 60, PLACES),
            "new_minutes": round(rate.new * 60, PLACES),
            "data_minutes": round(rate.data * 60, PLACES),
            "jobs": rate.jobs,
            "hours": rate.hours,
            "quantity": rate.quantity,
        }
        for key, rate in found.items()
    ]
    return problems, {"prior_jobs": prior, "rates": rows, "file": str(write) if write else None}


VERBS: Verbs = {"learn": (learn, _show)}
