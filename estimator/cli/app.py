"""The command: its verbs are listed in `estimator.cli.verbs`."""

import gc
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

import typer

from estimator import __version__
from estimator.cli.output import INTERRUPTED, interrupted, tell, unprinted
from estimator.cli.streams import watched
from estimator.cli.verbs import Verbs
from estimator.core.errors import OutputError
from estimator.core.files import journal

app = typer.Typer(
    cls=Verbs,
    name="battenbook",
    help="From a survey to a priced workbook and papers for fabric-covered sound-absorbing walls.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,  # plain help answers in half the time
)

ALLOCATIONS_BEFORE_COLLECTING = 50_000
"""A run is short and makes many records but few cycles: looking for these rarely saves a twentieth of it."""


READER_GONE = 141
"""What shells show of a program that the signal of a broken pipe ended: 128 and SIGPIPE, 13."""


def _told(asked: bool) -> None:
    """Print the version and end, where it is asked for."""
    if asked:
        typer.echo(f"battenbook {__version__}")
        raise typer.Exit


@app.callback()
def _command(
    *,
    _version: Annotated[
        bool, typer.Option("--version", is_eager=True, callback=_told, help="Print the version.")
    ] = False,
) -> None:
    """From a survey to a priced workbook and papers for fabric-covered sound-absorbing walls."""


def gather() -> typer.Typer:
    """Return the app with every verb at hand."""
    return app


def main() -> None:
    """Run the command; whoever stops reading, as ``| head`` does, ends it without a word."""
    gc.set_threshold(ALLOCATIONS_BEFORE_COLLECTING)
    out = watched()
    with journal() as written:
        code = _ended(written)
    if out.lost and code != INTERRUPTED:
        code = READER_GONE if isinstance(out.lost, BrokenPipeError) else OutputError.exit_code
        if code != READER_GONE:
            tell([unprinted(out.lost, written)])
    raise SystemExit(code)


def _ended(written: Sequence[Path]) -> object:
    """Run the command and return what it ends with; an interruption outside a verb's work is told here."""
    code: object = None
    cause: object = None
    try:
        app()
    except KeyboardInterrupt as end:
        code, cause = INTERRUPTED, end
    except SystemExit as end:
        code, cause = end.code, getattr(end.__context__, "__cause__", None)
    if isinstance(cause, KeyboardInterrupt):
        tell([interrupted(written)])
    return code
