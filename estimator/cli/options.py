"""Options that several verbs have: each is named, written and told of alike everywhere."""

import datetime as dt
from pathlib import Path
from typing import Annotated

import typer

from estimator.core.errors import refuse

Job = Annotated[Path, typer.Argument(metavar="JOB", help="The job file.", show_default=False)]
Json = Annotated[bool, typer.Option("--json", help="Print one JSON object.")]
Debug = Annotated[bool, typer.Option("--debug", help="Show the traceback of a failure.")]
Force = Annotated[bool, typer.Option("--force", help="Replace files that are there.")]
Paper = Annotated[
    str,
    typer.Option(
        "--paper",
        metavar="letter|a4",
        help="What all is laid out for; else A4 for a job shown in metric units, Letter for one in inches.",
        show_default=False,
    ),
]
PriceBy = Annotated[
    str, typer.Option("--price-by", metavar="sum|section|wall", help="How the quote shows its price.")
]
Templates = Annotated[
    Path | None, typer.Option("--templates", metavar="DIR", help="An office's own templates.")
]
Keeping = Annotated[
    list[str] | None,
    typer.Option(
        "--keep",
        metavar="office|job|KEY=office|KEY=job",
        help="Who is right where job file and office disagree: everywhere, or about one input; repeat.",
        show_default=False,
    ),
]


def day(text: str, option: str = "--date") -> dt.date:
    """Return the date written in `text`; today where it is empty.

    Raises:
        InputError: it is no date.
    """
    try:
        return dt.date.fromisoformat(text.strip()) if text.strip() else dt.datetime.now().astimezone().date()
    except ValueError:
        raise refuse(option, f"{text!r} is no date", "Write it like 2026-11-25.") from None
