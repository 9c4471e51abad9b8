"""What every verb shares: how it answers, and for those that ask, where the archive is.

A verb is a function of what is its own, and of `Where` the archive is if it needs that; it returns the
warnings and the result. The options that all have are added to it here, and its answer is printed here.
"""

import inspect
from collections.abc import Callable, Iterable
from functools import wraps
from typing import Annotated, Any

import typer

from estimator.cli.archive_folder import Folder, Shop, Where
from estimator.cli.options import Debug, Json
from estimator.cli.output import progress_wanted, run
from estimator.core.errors import Problem

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
