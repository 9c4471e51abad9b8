"""What every verb shares: its options, how it answers, and for those that ask, where the archive is.

A verb is a function of what is its own, and of `Where` the archive is if it needs that; it returns the
warnings and the result. The options that all have are added to it here, and its answer is printed here.
"""

import datetime as dt
import inspect
from collections.abc import Callable, Iterable
from functools import wraps
from pathlib import Path
from typing import Annotated, Any

import typer

from estimator.cli.archive_folder import Folder, Shop, Where
from estimator.cli.output import progress_wanted, run
from estimator.core.errors import Problem, refuse

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


Result = tuple[Iterable[Problem], dict[str, Any]]
Show = Callable[[dict[str, Any]], None]
Verbs = dict[str, tuple[Callable[..., Result], Show]]
Number = Annotated[str, typer.Argument(metavar="NUMBER", help="The quote's number.")]
Revision = Annotated[
    int | None, typer.Option("--revision", min=0, help="The revision; the latest if not given.")
]


def _all(*, as_json: Json = False, debug: Debug = False) -> None:
    """Hold the options that every verb has."""


def _of_archive(*, archive: Folder = None, practice: Shop = None) -> None:
    """Hold the options of verbs that ask where the archive is."""


def _options(function: Callable[..., object]) -> list[inspect.Parameter]:
    return list(inspect.signature(function).parameters.values())


def command_of(work: Callable[..., Result], show: Show) -> Callable[..., None]:
    """Return the command of a verb: its own options, and those that every verb has.

    Args:
        work: takes its own arguments, and maybe `Where` the archive is as `at`; its docstring is the help.
        show: prints its result for a person.
    """
    own = [option for option in _options(work) if option.annotation is not Where]
    asks_where = len(own) < len(_options(work))

    @wraps(work)
    def command(*, as_json: bool, debug: bool, **given: Any) -> None:  # noqa: ANN401
        if asks_where:
            given["at"] = Where(given.pop("archive"), given.pop("practice"))
        run(lambda: work(**given), show, as_json=as_json, debug=debug)

    options = [*own, *(_options(_of_archive) if asks_where else ()), *_options(_all)]
    named = [option.replace(kind=inspect.Parameter.KEYWORD_ONLY) for option in options]
    command.__signature__ = inspect.Signature(named)  # type: ignore[attr-defined]
    command.__annotations__ = {option.name: option.annotation for option in named}
    return command


def progress(label: str) -> Callable[[int, int], None] | None:
    """Return what draws progress on a terminal, None where there is none."""
    if not progress_wanted():
        return None

    def draw(done: int, of: int) -> None:
        typer.echo(f"\r{label} {done} of {of}", err=True, nl=done == of)

    return draw
