"""Our own words in the templates: how papers write amounts, dates, cautions and lengths."""

import re
from datetime import date
from decimal import Decimal

from markupsafe import Markup

from estimator.core.errors import Problem


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


FILTERS = {
    "money": money,
    "day": day,
    "percent": percent,
    "number": number,
    "drawing": Markup,
    "caution": caution,
    "tape": tape,
}
