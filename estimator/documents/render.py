"""Fill the templates: strict about undefined names, escaped by default, an office's own copies first."""

import re
from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from functools import lru_cache
from pathlib import Path
from typing import Any

from jinja2 import ChoiceLoader, Environment, FileSystemLoader, StrictUndefined, TemplateError
from markupsafe import Markup

from estimator.core.errors import OutputError, Problem
from estimator.core.files import new_folder, save_all

_HERE = Path(__file__).parents[1]


def shipped() -> Path:
    """Return the folder of the shipped templates: in the package, or beside it in a checkout."""
    packed = _HERE / "_templates"
    return packed if packed.is_dir() else _HERE.parent / "templates"


def copy_templates(folder: Path) -> tuple[Path, ...]:
    """Copy the shipped templates into `folder` for an office to edit.

    Raises:
        OutputError: a file of the same name is there already; nothing is copied.
    """
    copies = {folder / p.name: p.read_bytes() for p in sorted(shipped().iterdir()) if p.is_file()}
    with new_folder(folder):
        save_all(copies)
    return tuple(copies)


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
_LONGEST_WORD = 28
_WORD = re.compile(rf"\S{{{_LONGEST_WORD + 1},}}")
_BREAK = "\u200b"


def broken(value: object) -> object:
    """Return a text with places to break in words longer than any that is spoken; anything else as it is."""
    if not isinstance(value, str) or isinstance(value, Markup):
        return value
    return _WORD.sub(lambda found: _BREAK.join(_parts(found.group())), value)


def _parts(word: str) -> list[str]:
    return [word[at : at + _LONGEST_WORD] for at in range(0, len(word), _LONGEST_WORD)]


@lru_cache(maxsize=8)
def _environment(folders: tuple[Path, ...]) -> Environment:
    """Return the environment of these folders; a template is compiled again only when it changes."""
    environment = Environment(
        loader=ChoiceLoader([FileSystemLoader(f) for f in folders]),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=broken,
    )
    environment.filters.update(
        {
            "money": money,
            "day": day,
            "percent": percent,
            "number": number,
            "drawing": Markup,
            "caution": caution,
            "tape": tape,
        }
    )
    return environment


class Papers:
    """Renders templates by name.

    Args:
        folder: an office's own templates, looked in first; None for the shipped ones only.
    """

    def __init__(self, folder: Path | None = None) -> None:
        folders = [folder] if folder else []
        if folder and not folder.is_dir():
            raise OutputError([Problem(str(folder), "is no folder", "Name a folder of templates.")])
        self._environment = _environment((*folders, shipped()))

    def render(self, name: str, context: Mapping[str, Any]) -> str:
        """Return a filled template.

        Raises:
            OutputError: the template is missing, broken, or uses a name that is not there.
        """
        try:
            return self._environment.get_template(name).render(context)
        except TemplateError as error:
            line = getattr(error, "lineno", 0) or 0
            what = f"the template cannot be filled: {error.message or type(error).__name__}"
            raise OutputError(
                [Problem("template", what, "Correct it, or take the shipped one.", name, line)]
            ) from error
