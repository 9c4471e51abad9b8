"""How a verb answers, and what all verbs share: their options, and which archive they work in.

Exit codes: 0 done · 1 our fault · 2 usage · 3 job or catalogue has problems · 4 output could not be
written or does not recalculate · 5 archive does not verify · 130 interrupted.

Results go to stdout, problems to stderr; with ``--json`` one object. A verb is a function of what is its own,
and of `Where` the archive is if it needs that; it returns the warnings and the result.
"""

import datetime as dt
import errno
import inspect
import json
import os
import sys
import threading
import time
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from decimal import Decimal
from functools import wraps
from pathlib import Path
from typing import Annotated, Any

import typer

from estimator.core.errors import BattenbookError, InputError, OutputError, Problem, refuse
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


VARIABLE = "BATTENBOOK_ARCHIVE"
PRACTICE = "practice.toml"
OWN = "battenbook"
Folder = Annotated[
    Path | None,
    typer.Option(
        "--archive", metavar="DIR", envvar=VARIABLE, help="The archive's folder; else the shop's setting."
    ),
]
Shop = Annotated[
    Path | None,
    typer.Option("--practice", metavar="FILE", help="The shop practice that names the archive's folder."),
]


@dataclass(frozen=True, slots=True)
class Where:
    """What was typed of the archive: its folder, from the option or the environment; the shop's practice."""

    archive: Path | None
    practice: Path | None = None

    def folder(self, job: Path | None = None) -> Path:
        """Return the archive's folder.

        Args:
            job: the job file the verb is about; its own practice is asked first, and folders from its own
                upwards. Without one, folders count from the current one.

        Raises:
            InputError: none was named, or a settings file cannot be read.
        """
        if self.archive is not None:
            return self.archive
        if self.practice is not None:
            return _typed(self.practice)
        named = (setting(file) for file in _settings(job) if file.is_file())
        found = next((folder for folder in named if folder is not None), None)
        if found is None:
            fix = (
                f"Give its folder with --archive DIR, set {VARIABLE}, or write `archive` under `[firm]` into "
                f"the shop's {PRACTICE}, here, in a folder above, or in {configurations(os.environ)[0]}."
            )
            raise refuse("--archive", "no archive was named", fix)
        return found


def _typed(practice: Path) -> Path:
    found = setting(practice)
    if found is None:
        fix = 'Write archive = "FOLDER" under [firm] there; it counts from that file.'
        raise refuse("--practice", f"{practice} names no archive", fix)
    return found


def setting(practice: Path) -> Path | None:
    """Return the archive's folder that a practice file names, None where it names none.

    A relative folder counts from the file it is written in.

    Raises:
        InputError: the file cannot be read, or holds something else there.
    """
    from estimator.job.document import read_document

    document = read_document(practice)
    firm = document.data.get("firm")
    named = firm.get("archive") if isinstance(firm, Mapping) else None
    if named is None:
        return None
    if not isinstance(named, str) or not named.strip():
        fix = 'Write it like archive = "../archive".'
        raise InputError([document.problem(("firm", "archive"), "names no folder", fix)])
    return practice.resolve().parent / Path(named.replace("\\", "/")).expanduser()


def _settings(job: Path | None) -> Iterator[Path]:
    """Yield the files that may name the archive, the nearest first."""
    if job is not None:
        yield from _of_job(job)
    start = Path.cwd() if job is None else job.resolve().parent
    yield from (folder / PRACTICE for folder in (start, *start.parents))
    yield from (folder / PRACTICE for folder in configurations(os.environ))


def _of_job(job: Path) -> Iterator[Path]:
    """Yield the practice file that a job names, where it is one of the shop's own."""
    from estimator.catalogue.load import DATA, sources
    from estimator.job.load import load_job

    practice = sources(load_job(job)[0].header, job.resolve().parent)["practice"]
    if DATA not in practice.parents:
        yield practice


def configurations(environ: Mapping[str, str]) -> tuple[Path, ...]:
    """Return the folders of the program's own settings, the user's first; relative ones are passed over."""
    if os.name == "nt" and environ.get("APPDATA"):
        return (Path(environ["APPDATA"]) / OWN,)
    home = environ.get("XDG_CONFIG_HOME", "")
    shared = environ.get("XDG_CONFIG_DIRS", "") or "/etc/xdg"
    user = Path(home) if Path(home).is_absolute() else Path("~").expanduser() / ".config"
    every = (user, *(Path(name) for name in shared.split(os.pathsep)))
    return tuple(folder / OWN for folder in every if folder.is_absolute())


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
