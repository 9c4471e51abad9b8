"""What every verb of ``battenbook archive`` shares: how the archive is found, how it answers.

A verb is a function of where the archive is and of what is its own; it returns the warnings and the result.
The options that all have are added to it here, and its answer is printed here.
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
Number = Annotated[str, typer.Argument(metavar="NUMBER", help="The quote's number.")]
Revision = Annotated[
    int | None, typer.Option("--revision", min=0, help="The revision; the latest if not given.")
]


def _standing(
    *, archive: Folder = None, practice: Shop = None, as_json: Json = False, debug: Debug = False
) -> None:
    """Hold the options that every verb has."""


STANDING = tuple(inspect.signature(_standing).parameters.values())


def verb(work: Callable[..., Result], show: Show) -> Callable[..., None]:
    """Return the command of a verb: its own options, and those that every verb has.

    Args:
        work: takes `Where` the archive is, then its own arguments; its docstring is the help.
        show: prints its result for a person.
    """

    @wraps(work)
    def command(*, archive: Folder, practice: Shop, as_json: bool, debug: bool, **own: Any) -> None:  # noqa: ANN401
        where = Where(archive, practice)
        run(lambda: work(where, **own), show, as_json=as_json, debug=debug)

    _, *own = inspect.signature(work).parameters.values()
    named = [p.replace(kind=inspect.Parameter.KEYWORD_ONLY) for p in own]
    command.__signature__ = inspect.Signature([*named, *STANDING])  # type: ignore[attr-defined]
    command.__annotations__ = {p.name: p.annotation for p in (*named, *STANDING)}
    return command


def progress(label: str) -> Callable[[int, int], None] | None:
    """Return what draws progress on a terminal, None where there is none."""
    if not progress_wanted():
        return None

    def draw(done: int, of: int) -> None:
        typer.echo(f"\r{label} {done} of {of}", err=True, nl=done == of)

    return draw
