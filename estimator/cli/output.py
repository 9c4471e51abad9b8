"""How a verb answers: results on stdout, problems on stderr, one JSON object with ``--json``.

Exit codes: 0 done · 1 our fault · 2 usage · 3 job or catalogue has problems · 4 output could not be
written or does not recalculate · 5 archive does not verify · 130 interrupted.
"""

import errno
import json
import os
import sys
import threading
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from decimal import Decimal
from pathlib import Path
from typing import Any

import typer

from estimator.core.errors import BattenbookError, OutputError, Problem
from estimator.core.files import journal

SCHEMA = 1
INTERRUPTED = 130
"""What shells show of a program that the terminal's interruption ended: 128 and SIGINT, 2."""
_TICK_S = 1.0
_QUIET = threading.Event()
"""Set while a verb draws progress of its own."""


def _plain(value: Any) -> Any:  # noqa: ANN401 - whatever json could not write
    if isinstance(value, Decimal):
        return float(value)
    if isinstance(value, Path):
        return str(value)
    if hasattr(value, "isoformat"):
        return value.isoformat()
    raise TypeError(f"{type(value).__name__} has no JSON form")


def envelope(problems: Iterable[Problem], result: object) -> str:
    """Return the one JSON object of a verb: ``{"schema": 1, "problems": […], "result": …}``."""
    body = {"schema": SCHEMA, "problems": [p.as_dict() for p in problems], "result": result}
    return json.dumps(body, default=_plain, ensure_ascii=False, indent=2)


def say(text: str) -> None:
    """Print one line of result on stdout."""
    typer.echo(text)


def counted(number: int, one: str, many: str = "") -> str:
    """Return how many there are of a thing: ``1 frame``, ``1,200 frames``; `many` where it is not one + s."""
    return f"{number:,} {one if number == 1 else many or one + 's'}"


def tell(problems: Iterable[Problem]) -> None:
    """Print problems on stderr, one a line, the severity first."""
    for problem in problems:
        typer.echo(f"{problem.severity}: {problem}", err=True)


def _on_a_terminal() -> bool:
    return sys.stderr.isatty() and not os.environ.get("NO_COLOR")


def progress_wanted() -> bool:
    """Return whether a verb may draw progress of its own, all that is drawn then: on a terminal only."""
    _QUIET.set()
    return _on_a_terminal()


@contextmanager
def _sign_of_life() -> Iterator[None]:
    """Count the seconds on a terminal, from the first on, until the work is done."""
    if not _on_a_terminal():
        yield
        return
    done, began = threading.Event(), time.monotonic()
    _QUIET.clear()

    def tick() -> None:
        shown = ""
        while not done.wait(_TICK_S) and not _QUIET.is_set():
            shown = f"working, {time.monotonic() - began:.0f} s"
            sys.stderr.write(f"\r{shown}")
            sys.stderr.flush()
        sys.stderr.write(f"\r{' ' * len(shown)}\r" if shown else "")
        sys.stderr.flush()

    thread = threading.Thread(target=tick, daemon=True)
    thread.start()
    try:
        yield
    finally:
        done.set()
        thread.join()


def run(
    work: Callable[[], tuple[Iterable[Problem], dict[str, Any]]],
    show: Callable[[dict[str, Any]], None],
    *,
    as_json: bool,
    debug: bool = False,
) -> None:
    """Do a verb's `work` and answer: print it with `show` or as JSON; end with the right exit code.

    Args:
        work: returns the warnings and the result (the JSON object's ``result``).
        show: prints that result for a person.
        as_json: print the one JSON object instead, also on failure.
        debug: let exceptions through with their traceback.
    """
    with journal() as written:
        try:
            with _sign_of_life():
                problems, result = work()
        except typer.BadParameter:
            raise
        except (Exception, KeyboardInterrupt) as error:
            if debug:
                raise
            problems, code = _refusal(error, written)
            _fail(problems, code, as_json=as_json)
    if as_json:
        say(envelope(problems, result))
    else:
        tell(problems)
        show(result)


def _refusal(error: BaseException, written: Sequence[Path]) -> tuple[list[Problem], int]:
    """Return what there is to say of a failure, and of files that stand all the same; and the exit code."""
    match error:
        case KeyboardInterrupt():
            return [interrupted(written)], INTERRUPTED
        case BattenbookError():
            problems, code = [*error.problems], error.exit_code
        case OSError():
            what = error.strerror or str(error)
            problems = [Problem(str(error.filename or "output"), what, "Check the path and its rights.")]
            code = OutputError.exit_code
        case _:
            fix = "This is a fault of battenbook; run again with --debug and report what it prints."
            problems, code = [Problem("battenbook", f"{type(error).__name__}: {error}", fix)], 1
    return [*problems, *(Problem(str(path), "is written and stands", "") for path in written)], code


def interrupted(written: Sequence[Path]) -> Problem:
    """Return what an interruption left, in one line."""
    if not written:
        return Problem("interrupted", "nothing was written", "")
    return Problem("interrupted", "what was written stands", f"It is {', '.join(map(str, written))}.")


def unprinted(lost: OSError, written: Sequence[Path]) -> Problem:
    """Return that the result could not be printed, and what was written all the same."""
    stand = ", ".join(map(str, written))
    why = "is closed" if lost.errno == errno.EBADF else lost.strerror
    what = f"{why}; the result is not printed"
    return Problem("standard output", what, f"Written and standing: {stand}." if stand else "")


def _fail(problems: Iterable[Problem], code: int, *, as_json: bool) -> None:
    if as_json:
        say(envelope(problems, None))
    else:
        tell(problems)
    raise typer.Exit(code)
