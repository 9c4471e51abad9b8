"""Lengths as whole nanometres, and the border where pint reads every other unit.

1/64 in is exactly 396 875 nm and 1 mm is 1 000 000 nm, so imperial and metric jobs are both exact,
hash, compare, and go to an integer solver as they are.
Source: 1 in = 25.4 mm exactly, international yard and pound agreement (1959); NIST Handbook 44, App. C.
"""

import re
from fractions import Fraction
from functools import cache
from typing import TYPE_CHECKING, Literal, TypeAlias

if TYPE_CHECKING:
    import pint

Nm: TypeAlias = int
Display: TypeAlias = Literal["imperial", "metric"]

MM: Nm = 1_000_000
INCH: Nm = 25_400_000
FOOT: Nm = 12 * INCH
METRE: Nm = 1000 * MM
LONGEST: Nm = 1000 * METRE

_UNITS = {
    "mm": MM, "cm": 10 * MM, "m": METRE,
    "in": INCH, "inch": INCH, "inches": INCH, '"': INCH, "″": INCH, "”": INCH,
    "ft": FOOT, "foot": FOOT, "feet": FOOT, "'": FOOT, "′": FOOT, "’": FOOT,
    "yd": 3 * FOOT,
}  # fmt: skip
_NUMBER = r"(?:\d+[ -]+\d+/\d+|\d+/\d+|\d+\.\d+|\.\d+|\d+)"
_TERM = re.compile(rf"[ -]*({_NUMBER})\s*([a-z]+|[\"″”'′’])?", re.ASCII | re.IGNORECASE)
_EXAMPLE = "60 in, 5 ft 2 1/2 in, 5'2-1/2\", 1473 mm or 1.473 m"


def _fraction(text: str) -> Fraction:
    whole, _, part = re.sub(r"[ -]+", " ", text).rpartition(" ")
    return Fraction(part) + (Fraction(whole) if whole else 0)


def _terms(text: str) -> list[tuple[Fraction, Nm]]:
    at, terms = 0, []
    body = text.strip()
    while at < len(body):
        match = _TERM.match(body, at)
        if match is None:
            raise ValueError(f"{text!r} is not a length; write it like {_EXAMPLE}")
        number, unit = match.groups()
        if unit is None:
            raise ValueError(f"{text!r} has a number without a unit; which unit? Write it like {_EXAMPLE}")
        if unit.lower() not in _UNITS:
            raise ValueError(f"{text!r}: unknown unit of length {unit!r}; use in, ft, yd, mm, cm or m")
        terms.append((_fraction(number), _UNITS[unit.lower()]))
        at = match.end()
    if not terms:
        raise ValueError(f"an empty text is not a length; write it like {_EXAMPLE}")
    sizes = [unit for _, unit in terms]
    if sizes != sorted(set(sizes), reverse=True):
        raise ValueError(
            f"{text!r} has its units out of order; write each once, larger first, like {_EXAMPLE}"
        )
    return terms


def parse_length(text: object) -> Nm:
    """Return the length written in `text` as whole nanometres.

    Args:
        text: feet-inches-fractions or metric: ``60 in``, ``5 ft 2 1/2 in``, ``5'2-1/2"``, ``1473 mm``.

    Raises:
        ValueError: a bare number, an unknown unit, text that is not a length, a negative length,
            one that is no whole number of nanometres, or one over a kilometre.
    """
    if not isinstance(text, str):
        raise ValueError(f"{text!r} is a bare number; which unit? Write it like {_EXAMPLE}")  # noqa: TRY004
    if len(text) > 60:  # noqa: PLR2004 - no tape reads that long
        raise ValueError(f"{text[:20]!r}… is too long to be a length; write it like {_EXAMPLE}")
    if text.strip().startswith("-"):
        raise ValueError(f"{text!r} is negative; write lengths as positive numbers")
    try:
        total = sum((n * unit for n, unit in _terms(text)), Fraction(0))
    except ZeroDivisionError:
        raise ValueError(f"{text!r} divides by zero; write it like {_EXAMPLE}") from None
    if total > LONGEST:
        raise ValueError(f"{text!r} is over a kilometre; check the unit")
    if total.denominator != 1:
        total = Fraction(round(total))
    return int(total)


def inches(length: Nm) -> float:
    """Return nanometres as inches; exact for any multiple of 1/64 in."""
    return length / INCH


def millimetres(length: Nm) -> float:
    """Return nanometres as millimetres."""
    return length / MM


def metres(length: Nm) -> float:
    """Return nanometres as metres."""
    return length / METRE


def format_length(length: Nm, display: Display = "imperial") -> str:
    """Return a length as a tape reads it: to 1/16 in (``5'2-1/2"``) or to 1 mm (``1588 mm``).

    Halves round away from zero. A length under one foot has no feet: ``10-1/2"``; whole feet and a part of an
    inch keep the nought between them: ``6'0-1/2"`` is no six and a half feet.
    """
    if length < 0:
        return "-" + format_length(-length, display)
    if display == "metric":
        return f"{(2 * length + MM) // (2 * MM)} mm"
    step = INCH // 16
    sixteenths = (2 * length + step) // (2 * step)
    feet, rest = divmod(sixteenths, 12 * 16)
    whole, part = divmod(rest, 16)
    fraction = f"{Fraction(part, 16)}" if part else ""
    joined = "-".join(p for p in (str(whole) if whole or feet or not part else "", fraction) if p)
    return f"{feet}'{joined}\"" if feet else f'{joined}"'


def area_text(area_m2: float, display: Display) -> str:
    """Return an area given in m2 as the job shows it: ``240 sq ft`` or ``22.3 m²``."""
    return f"{area_m2 * (METRE / FOOT) ** 2:.0f} sq ft" if display == "imperial" else f"{area_m2:.1f} m²"


@cache
def registry() -> "pint.UnitRegistry[float]":
    """Return the one pint registry of the program; made when a unit other than a length is first read."""
    import pint  # noqa: PLC0415 - costs a third of a second, and a job of lengths only needs none

    return pint.UnitRegistry(autoconvert_offset_to_baseunit=True)


def quantity(text: str, unit: str) -> float:
    """Return the quantity written in `text` as a number of `unit`.

    Args:
        text: a number with a unit, such as ``48 kg/m^3`` or ``6 lb/ft^3``.
        unit: the pint name of the unit wanted.

    Raises:
        ValueError: no unit, an unknown unit, one of another dimension, or a number that is not finite.
    """
    try:
        value = float(registry().Quantity(text).to(unit).magnitude)
    except Exception as error:
        raise ValueError(f"{text!r} is not a quantity in {unit}; write a number with its unit") from error
    if value != value or value in {float("inf"), float("-inf")}:  # noqa: PLR0124 - NaN
        raise ValueError(f"{text!r} is not a finite number")
    return value
