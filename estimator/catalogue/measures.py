"""The units that price lists and shop practice are written in, each with its exact factor.

A table rather than a unit library: these few dozen units are all that a supplier's list or a shop's
practice needs, every factor is exact by definition, and nothing has to be imported to read them.

Source: 1 in = 25.4 mm, 1 lb = 0.453 592 37 kg, 1 US gallon = 231 cubic inches, all exact: NIST Handbook 44
(2024), Appendix C (from memory). 1 lbf = 1 lb x 9.806 65 m/s2 (standard gravity, CGPM 1901).
"""

import re
from decimal import Decimal
from fractions import Fraction
from typing import NamedTuple

_INCH_M = Fraction(254, 10_000)
_FOOT_M = 12 * _INCH_M
_YARD_M = 36 * _INCH_M
_GALLON_ML = 231 * (Fraction(254, 100)) ** 3
_POUND_KG = Fraction(45_359_237, 100_000_000)
_GRAVITY = Fraction(980_665, 100_000)
_HOUR_S = 3600


class Measure(NamedTuple):
    """A unit: its dimension, and how many of the dimension's own unit it is."""

    dimension: str
    factor: Fraction


OWN_UNIT = {
    "count": "", "ratio": "", "percent": "", "length": "m", "area": "m^2", "volume": "mL", "mass": "kg",
    "time": "h", "force": "N", "area-rate": "m^2/L", "density": "kg/m^3", "resistivity": "Pa*s/m^2",
    "resistance": "Pa*s/m", "area-mass": "kg/m^2", "days": "day",
}  # fmt: skip

MEASURES: dict[str, Measure] = {
    "": Measure("count", Fraction(1)),
    "ea": Measure("count", Fraction(1)),
    "%": Measure("percent", Fraction(1, 100)),
    "day": Measure("days", Fraction(1)),
    "mm": Measure("length", Fraction(1, 1000)),
    "cm": Measure("length", Fraction(1, 100)),
    "m": Measure("length", Fraction(1)),
    "in": Measure("length", _INCH_M),
    "ft": Measure("length", _FOOT_M),
    "yd": Measure("length", _YARD_M),
    "m^2": Measure("area", Fraction(1)),
    "ft^2": Measure("area", _FOOT_M**2),
    "yd^2": Measure("area", _YARD_M**2),
    "mL": Measure("volume", Fraction(1)),
    "L": Measure("volume", Fraction(1000)),
    "fl oz": Measure("volume", _GALLON_ML / 128),
    "pt": Measure("volume", _GALLON_ML / 8),
    "qt": Measure("volume", _GALLON_ML / 4),
    "gal": Measure("volume", _GALLON_ML),
    "g": Measure("mass", Fraction(1, 1000)),
    "kg": Measure("mass", Fraction(1)),
    "lb": Measure("mass", _POUND_KG),
    "min": Measure("time", Fraction(1, 60)),
    "h": Measure("time", Fraction(1)),
    "N": Measure("force", Fraction(1)),
    "kN": Measure("force", Fraction(1000)),
    "lbf": Measure("force", _POUND_KG * _GRAVITY),
    "m^2/L": Measure("area-rate", Fraction(1)),
    "ft^2/gal": Measure("area-rate", _FOOT_M**2 / (_GALLON_ML / 1000)),
    "kg/m^3": Measure("density", Fraction(1)),
    "lb/ft^3": Measure("density", _POUND_KG / _FOOT_M**3),
    "Pa*s/m^2": Measure("resistivity", Fraction(1)),
    "Pa*s/m": Measure("resistance", Fraction(1)),
    "g/m^2": Measure("area-mass", Fraction(1, 1000)),
    "kg/m^2": Measure("area-mass", Fraction(1)),
    "oz/yd^2": Measure("area-mass", _POUND_KG / 16 / _YARD_M**2),
}

_NUMBER = r"(\d{1,6} +\d{1,6}/\d{1,6}|\d{1,6}/\d{1,6}|\d{1,12}(?:\.\d{1,9})?|\.\d{1,9})"
_FILM_M = {"mil": _INCH_M / 1000, "um": Fraction(1, 10**6), "µm": Fraction(1, 10**6)}
_FILM = re.compile(r"\s*(\d{1,3}(?:\.\d+)?)\s*% solids at (\d{1,4}(?:\.\d+)?)\s*(mil|um|µm)\s*$")
_QUANTITY = re.compile(rf"\s*{_NUMBER}\s*(.*?)\s*$")


class Amount(NamedTuple):
    """A number with its unit as written; `own` is the number in the dimension's own unit."""

    number: Decimal
    unit: str
    dimension: str
    own: Fraction


def known_units(dimension: str) -> str:
    """Return the units of a dimension, as a sentence lists them."""
    return ", ".join(name for name, measure in MEASURES.items() if measure.dimension == dimension and name)


def _number(text: str) -> Fraction:
    whole, _, part = text.rpartition(" ")
    return Fraction(part) + (Fraction(whole) if whole.strip() else 0)


def read_amount(text: str, dimension: str) -> Amount:
    """Return the amount written in `text`, such as ``350 ft^2/gal``, ``10.1 fl oz`` or ``1000 ea``.

    Args:
        text: a number of 0 or more with its unit; squares are written ``ft^2`` or ``ft²``. A spread rate may
            also be what a data sheet says: ``65 % solids at 5 mil``.
        dimension: what it must measure, a key of `OWN_UNIT`; 'ratio' is a bare number.

    Raises:
        ValueError: no number, no unit, an unknown unit, or a unit of another dimension.
    """
    if dimension == "area-rate" and (film := _FILM.match(text)):
        return _spread(film)
    match = _QUANTITY.match(text)
    wanted = known_units("count" if dimension == "ratio" else dimension)
    if match is None:
        raise ValueError(f"{text[:40]!r} is not an amount; write a number and its unit ({wanted})")
    unit = match.group(2).replace("²", "^2").replace("³", "^3").replace("·", "*")
    measure = MEASURES.get(unit)
    accepted = {"count", "ratio"} if dimension in {"count", "ratio"} else {dimension}
    if measure is None or measure.dimension not in accepted:
        raise ValueError(f"{text[:40]!r} is not in a unit of {dimension}; write a number and one of {wanted}")
    try:
        number = _number(match.group(1))
    except ZeroDivisionError:
        raise ValueError(f"{text[:40]!r} divides by zero; write a number and its unit") from None
    plain = Decimal(number.numerator) / Decimal(number.denominator)
    return Amount(plain, unit, dimension, number * measure.factor)


def _spread(film: re.Match[str]) -> Amount:
    """Return how far a litre goes that leaves solids of one thickness: solids / thickness, no loss.

    Source: geometry; coating guides print 1604 x solids / mils ft2/gal and 1000 x solids / um m2/L.
    """
    solids, thickness = Fraction(film[1]) / 100, Fraction(film[2]) * _FILM_M[film[3]]
    if not (0 < solids <= 1 and thickness > 0):
        raise ValueError(f"{film[0].strip()!r} is no coat of paint; write it like '65 % solids at 5 mil'")
    rate = solids / thickness / 1000
    return Amount(Decimal(rate.numerator) / Decimal(rate.denominator), "m^2/L", "area-rate", rate)


def converted(amount: Decimal, unit: str, wanted: str) -> Decimal:
    """Return `amount` of `unit` as a number of `wanted`.

    Raises:
        ValueError: the units measure different things, or one is unknown.
    """
    known = MEASURES.get(unit), MEASURES.get(wanted)
    if known[0] is None or known[1] is None or known[0].dimension != known[1].dimension:
        raise ValueError(f"{unit!r} cannot be written in {wanted!r}; they measure different things")
    exact = Fraction(amount) * known[0].factor / known[1].factor
    return Decimal(exact.numerator) / Decimal(exact.denominator)
