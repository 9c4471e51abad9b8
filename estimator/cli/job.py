"""`battenbook new`, `check` and `schema`: a job file to start from, its problems, and its form."""

from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from estimator.cli.output import Force, Result, Verbs, day, say
from estimator.core.errors import Problem, refuse
from estimator.core.files import save

if TYPE_CHECKING:
    from pydantic import BaseModel

    from estimator.catalogue.records import Catalogue
    from estimator.job.description import Job


class Of(StrEnum):
    """The files whose form can be asked for."""

    job = "job"
    catalogue = "catalogue"
    terms = "terms"
    practice = "practice"
    labour = "labour"


PATIENCE_S = 10
"""Up to which nobody asks how long it takes."""


def new(
    path: Annotated[Path, typer.Argument(metavar="FILE", help="Where the job file goes, such as job.toml.")],
    *,
    number: Annotated[str, typer.Option(help="The job's number.")] = "2026-001",
    title: Annotated[str, typer.Option(help="The job's title.")] = "Untitled job",
    client: Annotated[str, typer.Option(help="Who it is for.")] = "Client",
    site: Annotated[str, typer.Option(help="Where it is.")] = "not given",
    date: Annotated[
        str, typer.Option(metavar="YYYY-MM-DD", help="Date of the estimate; today where it is left out.")
    ] = "",
    metric: Annotated[bool, typer.Option("--metric", help="Millimetres and the metric price list.")] = False,
    force: Force = False,
) -> Result:
    """Write a commented job file to start from."""
    from estimator.job.description import job_file
    from estimator.job.document import parse_document, validated
    from estimator.job.starter import starter

    words = {"number": number, "title": title, "client": client, "site": site}
    text = starter("metric" if metric else "imperial", day(date), **words)
    validated(job_file(), parse_document(text, str(path)))
    save(path, text.encode(), force=force)
    return [], {"file": str(path)}


def _show_new(result: dict[str, Any]) -> None:
    say(f"Wrote {result['file']}. Measure over it, then: battenbook check {result['file']}")


def _laid_out(job: "Job", catalogue: "Catalogue") -> tuple[int, "tuple[Problem, ...]"]:
    """Return how many frames the job has, and the cautions; every option is laid out too.

    Raises:
        InputError: the job or one of its options cannot be laid out.
    """
    from estimator.job.options import apply_option
    from estimator.layout.assembly import lay_out
    from estimator.pipeline import only_of

    layout = lay_out(job, catalogue)
    found = [*layout.problems]
    for option in job.options:
        other = lay_out(apply_option(job, option), catalogue, optional=True)
        found += only_of(option.name, other.problems, layout.problems)
    return len(layout.frames), tuple(found)


def check(
    path: Annotated[Path, typer.Argument(metavar="JOB", help="The job file.")],
) -> Result:
    """Name everything that is wrong in a job file and what it names, and whether it can be laid out."""
    from estimator.catalogue.load import load
    from estimator.job.document import at_lines
    from estimator.layout.extent import seconds

    job, catalogue, warnings = load(path)
    with at_lines(path) as place:
        frames, cautions = _laid_out(job, catalogue)
    return [*warnings, *place(cautions)], {
        "number": job.header.number,
        "title": job.header.title,
        "pieces": [{"name": p.name, "kind": kind, "make_up": p.make_up} for kind, _, p in job.pieces()],
        "options": [option.name for option in job.options],
        "frames": frames,
        "seconds": seconds(frames, len(job.options)),
        "prices": len(catalogue.items),
        "currency": job.header.currency,
    }


def _show_check(result: dict[str, Any]) -> None:
    names = ", ".join(piece["name"] for piece in result["pieces"])
    built = f"To build: {names} ({result['frames']} frames)."
    say(f"{result['number']} {result['title']}: no errors. {built}")
    if result["seconds"] > PATIENCE_S:
        say(f"To estimate it takes about {result['seconds']:.0f} s.")


def _form(of: Of, *, markdown: bool) -> "str | dict[str, Any]":
    """Return the reference or the JSON Schema of a file's form.

    Raises:
        InputError: a JSON Schema of the catalogue, which is several files.
    """
    from estimator.catalogue.labour import LabourBook
    from estimator.catalogue.practice import PracticeFile
    from estimator.catalogue.reference import catalogue_reference
    from estimator.catalogue.terms import Terms
    from estimator.job.schema import file_schema, job_schema, reference

    if markdown:
        return reference() if of is Of.job else catalogue_reference()
    models: dict[Of, type[BaseModel]] = {Of.terms: Terms, Of.practice: PracticeFile, Of.labour: LabourBook}
    if of is Of.catalogue:
        raise refuse("--of", "the catalogue is several files", "Say --markdown, or name one of its files.")
    return job_schema() if of is Of.job else file_schema(models[of], f"battenbook {of.value} file")


def schema(
    *,
    of: Annotated[Of, typer.Option(help="Which file.")] = Of.job,
    out: Annotated[Path | None, typer.Option(help="File to write; standard output where left out.")] = None,
    markdown: Annotated[bool, typer.Option("--markdown", help="The reference for people instead.")] = False,
    force: Force = False,
) -> Result:
    """Print the JSON Schema of the job file or another, for editors, or its reference."""
    import json

    form = _form(of, markdown=markdown)
    if out is None:
        return [], {"file": None, "form": form}
    text = form if isinstance(form, str) else json.dumps(form, indent=2, ensure_ascii=False) + "\n"
    save(out, text.encode(), force=force)
    return [], {"file": str(out)}


def _show_schema(result: dict[str, Any]) -> None:
    import json

    if result["file"]:
        say(f"Wrote {result['file']}.")
    elif isinstance(result["form"], str):
        say(result["form"].rstrip("\n"))
    else:
        say(json.dumps(result["form"], indent=2, ensure_ascii=False))


VERBS: Verbs = {"new": (new, _show_new), "check": (check, _show_check), "schema": (schema, _show_schema)}
