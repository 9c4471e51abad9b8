"""Fill templates in a sandbox: data to read, words to write it, other templates of the same folders; no more.

An office's own template is somebody's program. Attributes that lead into Python, files outside the folders
and changes to what is shown are refused here; `estimator.documents.render` fills these templates in a process
of their own, gives it bare data, and bounds time, memory and size.
"""

import re
import traceback
from collections.abc import Generator, Mapping, Sequence
from datetime import date
from decimal import Decimal
from functools import partial
from pathlib import Path
from typing import Any, cast

from jinja2 import FunctionLoader, StrictUndefined, Template, TemplateError, TemplateSyntaxError
from jinja2.exceptions import SecurityError
from jinja2.loaders import split_template_path
from jinja2.sandbox import ImmutableSandboxedEnvironment
from markupsafe import Markup

from estimator.core.errors import OutputError, Problem


def money(amount: Decimal) -> str:
    """Return an amount with two decimals and thousands apart."""
    return f"{amount:,.2f}"


def day(value: date) -> str:
    """Return a date that reads the same on both sides of the ocean: 2 March 2026."""
    return f"{value.day} {value:%B %Y}"


def percent(share: Decimal | float) -> str:
    """Return a share as a percentage, without needless zeros."""
    return f"{Decimal(str(share)) * 100:.2f}".rstrip("0").rstrip(".") + " %"


def number(value: Decimal | float) -> str:
    """Return a number to two decimals at most."""
    return f"{value:,.2f}".rstrip("0").rstrip(".")


def caution(problem: Problem) -> Markup:
    """Return a caution as a sentence: where, what triggered it, and what to do or whom to ask."""
    where = _PLACES.get(problem.where, problem.where)
    what = problem.what.rstrip(".")
    return Markup("<strong>{}</strong>: {}. {}").format(*map(broken, (where, what, problem.fix)))


def tape(text: str) -> Markup:
    """Return a text in which no length is broken at its hyphen."""
    whole = Markup('<span class="k">{}</span>')
    parts = enumerate(_LENGTH.split(text))
    return Markup("").join(whole.format(part) if at % 2 else part for at, part in parts)


_LENGTH = re.compile(r"""((?:\d+')?\d+-\d+/\d+")""")
_PLACES = {"room.built": "The building", "job": "Cloth, boards and trim"}
_LONG = re.compile(r"\S{28}(?=\S)")


def broken(value: object) -> object:
    """Return a text with places to break in words longer than any that is spoken; anything else as it is."""
    if not isinstance(value, str) or isinstance(value, Markup):
        return value
    return _LONG.sub("\\g<0>\u200b", value)


FILTERS = {
    "money": money,
    "day": day,
    "percent": percent,
    "number": number,
    "drawing": Markup,
    "caution": caution,
    "tape": tape,
}


_FIX = "Correct it, or take the shipped one."


class TooMuch(Exception):  # noqa: N818 - a bound, told as it is
    """A template goes beyond a bound."""


class Sandbox(ImmutableSandboxedEnvironment):
    """The language of the templates, over some folders, the first that has a template being taken."""

    def __init__(self, folders: Sequence[Path]) -> None:
        super().__init__(
            loader=FunctionLoader(partial(_source, folders)),
            autoescape=True,
            undefined=StrictUndefined,
            trim_blocks=True,
            lstrip_blocks=True,
            finalize=broken,
        )
        self.folders = folders
        self.filters.update(FILTERS)

    def fill(self, name: str, context: Mapping[str, Any], longest: int | None = None) -> str:
        """Return a filled template.

        Args:
            name: the template's.
            context: what it may show.
            longest: how many characters it may make; None for any number.

        Raises:
            OutputError: it is missing or broken, uses what is not there, or makes too much.
        """
        try:
            return _text(self.get_template(name), context, longest)
        except Exception as error:
            raise OutputError([self._problem(name, error)]) from error

    def _problem(self, name: str, error: Exception) -> Problem:
        file, line = next((str(f / name) for f in self.folders if (f / name).is_file()), name), 0
        if isinstance(error, TemplateSyntaxError):
            file, line = error.filename or name, error.lineno
        for frame, at in traceback.walk_tb(error.__traceback__):
            if Path(frame.f_code.co_filename).parent in self.folders:
                file, line = frame.f_code.co_filename, at
        return Problem("template", f"cannot be filled: {_reason(error)}", _FIX, file, line)


def _reason(error: Exception) -> str:
    if isinstance(error, RecursionError):
        return "it takes in or calls itself without end, or is nested too deep"
    if isinstance(error, MemoryError):
        return "it needs too much memory"
    if isinstance(error, TemplateError):
        return error.message or type(error).__name__
    return str(error) or type(error).__name__


def _source(folders: Sequence[Path], name: str) -> tuple[str, str, None] | None:
    """Return text and path of a template; None where no folder has it."""
    for folder in folders:
        path = folder.joinpath(*split_template_path(name))
        if path.is_file():
            if not path.resolve().is_relative_to(folder.resolve()):
                raise SecurityError(f"{path} leads out of the folder of the templates")
            return _read(path, name), str(path), None
    return None


def _read(path: Path, name: str) -> str:
    body = path.read_bytes()
    try:
        return body.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = body.count(b"\n", 0, error.start) + 1
        raise TemplateSyntaxError("it is not UTF-8 text; save it as such", line, name, str(path)) from error


def _text(template: Template, context: Mapping[str, Any], longest: int | None) -> str:
    parts, size = list[str](), 0
    stream = cast("Generator[str, None, None]", template.generate(context))
    for part in stream:
        parts.append(part)
        size += len(part)
        if longest is not None and size > longest:
            stream.throw(TooMuch(f"it makes more than {longest:,} characters"))
    return "".join(parts)
