"""What the cutting verbs read from the command line alike: lengths, stock with its price, and progress."""

import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, TypeVar

import typer

from estimator.cli.output import progress_wanted
from estimator.core.errors import InputError, Problem, refuse
from estimator.core.units import Display, Nm, format_length, parse_length

if TYPE_CHECKING:
    from estimator.cutting.plans import SheetStock

Progress = Callable[[float], None]
Read = TypeVar("Read")
Unit = Annotated[str, typer.Option(help="Unit of bare numbers in the list.")]
Metric = Annotated[bool, typer.Option("--metric", help="Print millimetres.")]
Out = Annotated[Path | None, typer.Option(metavar="FILE", help="Write the drawn plan (HTML).")]
_WAIT_S = 1.0


class Given:
    """What the user gave, read to the end so that every problem is told at once."""

    def __init__(self) -> None:
        """Begin without a problem."""
        self.problems: list[Problem] = []

    def read(self, read: Callable[[], Read], otherwise: Read) -> Read:
        """Return what `read` returns, and `otherwise` where it refuses; keep its problems."""
        try:
            return read()
        except InputError as error:
            self.problems += error.problems
            return otherwise

    def each(self, read: Callable[[str], Read], texts: Sequence[str]) -> list[Read]:
        """Return what `read` returns of each text it does not refuse; keep its problems."""
        found: list[Read] = []
        for text in texts:
            try:
                found.append(read(text))
            except InputError as error:
                self.problems += error.problems
        return found

    def refuse(self) -> None:
        """Refuse if there was a problem.

        Raises:
            InputError: with every problem kept.
        """
        if self.problems:
            raise InputError(self.problems)


def length_of(option: str, text: str) -> Nm:
    """Return a length given with an option.

    Raises:
        InputError: it is none.
    """
    try:
        return parse_length(text)
    except ValueError as error:
        raise refuse(option, str(error), "") from None


def display_of(text: str, *, metric: bool) -> Display:
    """Return how lengths are written: metric if asked for, or if `text`, a size given, is."""
    return "metric" if metric or text.rstrip().lower().endswith("m") else "imperial"


def sheet_of(text: str) -> "SheetStock":
    """Return the sheet written like ``48 in x 96 in=31.50``, with ``@12`` where only twelve can be had.

    Raises:
        InputError: it is none.
    """
    from estimator.cutting.plans import SheetStock

    fix = "Write it like '48 in x 96 in=31.50', or '48 in x 96 in=31.50@12' where only 12 can be had."
    size, equals, rest = text.partition("=")
    sides = size.replace("×", "x").lower().split("x")
    price, at, limit = rest.partition("@")
    if not equals or len(sides) != 2 or (at and not limit.strip().isdigit()):  # noqa: PLR2004 - two sides
        raise refuse("--sheet", f"{text!r} is not a size with a price", fix)
    width, height = (length_of("--sheet", side) for side in sides)
    try:
        amount = Decimal(price.strip())
    except InvalidOperation:
        raise refuse("--sheet", f"{price!r} is not a price", fix) from None
    if not amount.is_finite() or amount < 0:
        raise refuse("--sheet", f"{price!r} is not a price", fix)
    return SheetStock(size.strip(), width, height, amount, int(limit) if at else None)


def measured(display: Display, **lengths: Nm) -> dict[str, Any]:
    """Return each length twice: as a tape reads it, and in whole nanometres under ``NAME_nm``."""
    found: dict[str, Any] = {}
    for name, length in lengths.items():
        found[name] = format_length(length, display)
        found[f"{name}_nm"] = length
    return found


@contextmanager
def progress_bar(label: str) -> Iterator[Progress | None]:
    """Give a function that shows the share of the work done, from one second on; None without a terminal."""
    if not progress_wanted():
        yield None
        return
    import sys

    began, shown = time.monotonic(), False

    def show(share: float) -> None:
        nonlocal shown
        if time.monotonic() - began > _WAIT_S:
            shown = True
            sys.stderr.write(f"\r{label} {share:4.0%}")
            sys.stderr.flush()

    try:
        yield show
    finally:
        if shown:
            sys.stderr.write("\n")
