"""Units: lengths as whole nanometres, every other quantity by pint, and the set of units a job is shown in.

1/64 in is exactly 396 875 nm and 1 mm is 1 000 000 nm, so imperial and metric jobs are both exact,
hash, compare, and go to an integer solver as they are.
Everything downstream of the layout is worked out in one of two sets of units; conversion is exact.
Source: 1 in = 25.4 mm exactly, international yard and pound agreement (1959); NIST Handbook 44, App. C.
"""

import re
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Literal, NamedTuple, TypeAlias

from estimator.core.money import rounded

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


POUND_KG = 0.453_592_37
"""Source: international yard and pound agreement (1959); NIST SP 811, app. B."""


def size_text(width: Nm, height: Nm, display: Display) -> str:
    """Return width × height."""
    return f"{format_length(width, display)} × {format_length(height, display)}"


def mass_text(kilograms: float, display: Display) -> str:
    """Return a mass as it is lifted: in whole pounds with kilograms beside them, or in kilograms alone."""
    if display == "metric":
        return f"{kilograms:.0f}\u00a0kg"
    return f"{kilograms / POUND_KG:.0f}\u00a0lb ({kilograms:.0f}\u00a0kg)"


UNITS: dict[str, tuple[str, ...]] = {
    "count": ("", "ea"),
    "percent": ("%",),
    "days": ("day",),
    "length": ("m", "mm", "cm", "in", "ft", "yd"),
    "area": ("m^2", "ft^2", "yd^2"),
    "volume": ("mL", "L", "fl oz", "pt", "qt", "gal"),
    "mass": ("kg", "g", "lb"),
    "time": ("h", "min"),
    "force": ("N", "kN", "lbf"),
    "area-rate": ("m^2/L", "ft^2/gal"),
    "density": ("kg/m^3", "lb/ft^3"),
    "resistivity": ("Pa*s/m^2",),
    "resistance": ("Pa*s/m",),
    "area-mass": ("kg/m^2", "g/m^2", "oz/yd^2"),
}
"""The units that price lists and shop practice are written in, by what they measure; its own unit first."""
_DIMENSION = {unit: dimension for dimension, units in UNITS.items() for unit in units}
_COUNTED = {"": Fraction(1), "ea": Fraction(1), "%": Fraction(1, 100)}
_DEFINITIONS = Path(__file__).with_name("units.txt")
_AMOUNT = re.compile(
    r"\s*(\d{1,6} +\d{1,6}/\d{1,6}|\d{1,6}/\d{1,6}|\d{1,12}(?:\.\d{1,9})?|\.\d{1,9})\s*(.*?)\s*$", re.ASCII
)
_FILM_M = {"mil": Fraction(INCH, 1000 * METRE), "um": Fraction(1, 10**6), "µm": Fraction(1, 10**6)}
_FILM = re.compile(r"\s*(\d{1,3}(?:\.\d+)?)\s*% solids at (\d{1,4}(?:\.\d+)?)\s*(mil|um|µm)\s*$", re.ASCII)


class Amount(NamedTuple):
    """A number with its unit as written; `own` is the number in the dimension's own unit."""

    number: Decimal
    unit: str
    dimension: str
    own: Fraction


def _units(dimension: str) -> tuple[str, ...]:
    return UNITS["count" if dimension == "ratio" else dimension]


def own_unit(dimension: str) -> str:
    """Return the unit that amounts of a dimension are turned into."""
    return _units(dimension)[0]


def known_units(dimension: str) -> str:
    """Return the units of a dimension, as a sentence lists them."""
    return ", ".join(unit for unit in _units(dimension) if unit)


@cache
def _registry() -> "pint.UnitRegistry[Fraction]":
    import pint  # noqa: PLC0415 - costs a tenth of a second, and help or a list of lengths needs none

    return pint.UnitRegistry(str(_DEFINITIONS), non_int_type=Fraction)


@cache
def factor(unit: str) -> Fraction:
    """Return how many of its dimension's own unit one of a unit of `UNITS` is, exact."""
    if unit in _COUNTED:
        return _COUNTED[unit]
    own = UNITS[_DIMENSION[unit]][0]
    one = _registry().Quantity(Fraction(1), unit.replace(" ", "_"))
    return Fraction(one.to(own).magnitude)


def _plain(number: Fraction) -> Decimal:
    return Decimal(number.numerator) / Decimal(number.denominator)


def read_amount(text: str, dimension: str) -> Amount:
    """Return the amount written in `text`, such as ``350 ft^2/gal``, ``10.1 fl oz`` or ``1000 ea``.

    Args:
        text: a number of 0 or more with its unit; squares are written ``ft^2`` or ``ft²``. A spread rate may
            also be what a data sheet says: ``65 % solids at 5 mil``.
        dimension: what it must measure, a key of `UNITS`; 'ratio' is a bare number.

    Raises:
        ValueError: no number, no unit, an unknown unit, or a unit of another dimension.
    """
    if dimension == "area-rate" and (film := _FILM.match(text)):
        return _spread(film)
    match, wanted = _AMOUNT.match(text), known_units(dimension)
    if match is None:
        raise ValueError(f"{text[:40]!r} is not an amount; write a number and its unit ({wanted})")
    unit = plain(match[2]).replace("·", "*")
    if unit not in _units(dimension):
        raise ValueError(f"{text[:40]!r} is not in a unit of {dimension}; write a number and one of {wanted}")
    try:
        number = _fraction(match[1])
    except ZeroDivisionError:
        raise ValueError(f"{text[:40]!r} divides by zero; write a number and its unit") from None
    return Amount(_plain(number), unit, dimension, number * factor(unit))


def _spread(film: re.Match[str]) -> Amount:
    """Return how far a litre goes that leaves solids of one thickness: solids / thickness, no loss.

    Source: geometry; coating guides print 1604 x solids / mils ft2/gal and 1000 x solids / um m2/L.
    """
    solids, thickness = Fraction(film[1]) / 100, Fraction(film[2]) * _FILM_M[film[3]]
    if not (0 < solids <= 1 and thickness > 0):
        raise ValueError(f"{film[0].strip()!r} is no coat of paint; write it like '65 % solids at 5 mil'")
    rate = solids / thickness / 1000
    return Amount(_plain(rate), "m^2/L", "area-rate", rate)


def converted(amount: Decimal, unit: str, wanted: str) -> Decimal:
    """Return `amount` of `unit` as a number of `wanted`, both units of `UNITS`.

    Raises:
        ValueError: the units measure different things, or one is unknown.
    """
    if unit not in _DIMENSION or _DIMENSION[unit] != _DIMENSION.get(wanted):
        raise ValueError(f"{unit!r} cannot be written in {wanted!r}; they measure different things")
    return _plain(Fraction(amount) * factor(unit) / factor(wanted))


@dataclass(frozen=True, slots=True)
class Measures:
    """Units by what is measured, and the named factors between them.

    Attributes:
        small, large: units of length (in and ft, or mm and m); cloth: unit cloth is sold by.
        area: unit of area, `large` squared; liquid: of paint; bead: of sealant;
            spread: of the rate at which paint covers; money: ISO 4217 code.
    """

    display: Display
    small: str
    large: str
    cloth: str
    area: str
    liquid: str
    bead: str
    spread: str
    money: str

    def length(self, value: Nm) -> Decimal:
        """Return a length in `small` units, exact."""
        return Decimal(value) / (INCH if self.display == "imperial" else MM)

    def own(self, value: Decimal, unit: str) -> tuple[Decimal, str]:
        """Return a value of the shop's practice that is no length, in the job's units, and that unit."""
        wanted = {"m^2/L": self.spread, "m^2": plain(self.area)}.get(unit, unit)
        if wanted == unit:
            return value, readable(wanted)
        return rounded(converted(value, unit, wanted), 6).normalize() + 0, readable(wanted)


def readable(text: str) -> str:
    """Return a unit, or an amount as written, with its powers as people read them: 9 m^2 is 9 m²."""
    return text.replace("^2", "²").replace("^3", "³")


def plain(unit: str) -> str:
    """Return a shown unit as the catalogue writes it: ft² is ft^2."""
    return unit.replace("²", "^2").replace("³", "^3")


def measures(display: Display, currency: str) -> Measures:
    """Return the units of a job."""
    if display == "imperial":
        return Measures("imperial", "in", "ft", "yd", "ft²", "gal", "fl oz", "ft^2/gal", currency)
    return Measures("metric", "mm", "m", "m", "m²", "L", "mL", "m^2/L", currency)
