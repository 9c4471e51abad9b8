"""The command: its verbs are listed in `estimator.cli.verbs`."""

import gc
import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated, Any, TextIO

import typer

from estimator import __version__
from estimator.cli.output import INTERRUPTED, interrupted, tell, unprinted
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


class Stream:
    """A stream that never fails: what it cannot take is dropped, and `lost` keeps the reason."""

    def __init__(self, stream: TextIO) -> None:
        self.lost: OSError | None = None
        self._stream = stream

    def write(self, text: str) -> int:
        """Write a text, or drop it; return its length."""
        try:
            self._stream.write(text)
        except OSError as error:
            self.lost = error
        return len(text)

    def flush(self) -> None:
        """Pass on what was written, or drop it."""
        try:
            self._stream.flush()
        except OSError as error:
            self.lost = error

    def __getattr__(self, name: str) -> Any:  # noqa: ANN401 - whatever the stream has
        """Return what the stream itself has."""
        return getattr(self._stream, name)


def watched() -> Stream:
    """Let standard output and standard error be such streams; return the first.

    A stream that is closed gets a handle that refuses all writing, so that no file takes its number.
    """
    while (handle := os.open(os.devnull, os.O_RDONLY)) <= 2:  # noqa: PLR2004 - 0, 1, 2: POSIX
        pass
    os.close(handle)
    out, err = (
        Stream(stream or open(number, "w", encoding="utf-8", closefd=False))  # noqa: SIM115
        for number, stream in ((1, sys.stdout), (2, sys.stderr))
    )
    sys.stdout, sys.stderr = out, err
    return out
