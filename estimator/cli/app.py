"""The command: its verbs are listed in `estimator.cli.verbs`."""

import gc
from typing import Annotated

import typer

from estimator import __version__
from estimator.cli.verbs import Verbs

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
    try:
        app()
    except SystemExit as end:
        if isinstance(end.__context__, BrokenPipeError):
            raise SystemExit(READER_GONE) from None
        raise
