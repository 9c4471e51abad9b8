"""Options that several verbs have: each is named, written and told of alike everywhere."""

from pathlib import Path
from typing import Annotated

import typer

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
    str | None,
    typer.Option("--keep", metavar="office|job", help="Who is right where job file and office disagree."),
]
