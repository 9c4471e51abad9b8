"""Feet of joint that a cartridge of sealant fills, without waste, as the takeoff works it out.

Source: volume over section, as suppliers' yield tables give it to the nearest foot (geometry; own
arithmetic): 10.1 fl oz holds 18.2273 cubic inches; 300 mL is 300 000 cubic millimetres.
"""

from dataclasses import replace
from decimal import Decimal as D
from fractions import Fraction

import pytest

from estimator.catalogue.records import Catalogue, Practice
from estimator.core.units import INCH, MM, Display
from estimator.takeoff.inputs import content_in
from tests.layout.jobs import shipped
from tests.takeoff.taken import panel, practising, take, walls


def beaded(width: int, depth: int, shape: str) -> Catalogue:
    book = practising(shipped(), bead_width=width, bead_depth=depth)
    choices = {k: replace(c, value=shape if k == "bead_shape" else c.value)
               for k, c in book.practice.choices.items()}  # fmt: skip
    practice = Practice(book.practice.name, book.practice.values, choices)
    return Catalogue.of(book.items, practice, book.terms, book.labour, book.prices_name)


def yield_of(content: D, width: int, depth: int, display: Display, shape: str = "rectangle") -> float:
    """Return the length (ft or m) that `content` (fl oz or mL) fills: the takeoff's rate on one panel."""
    taken = take(walls(panel(to="73 in")), beaded(width, depth, shape), display)
    rate = taken.work("strip_work", "sealant") / taken.work("strip_work", "seal_run")
    return float(content / rate)


@pytest.mark.parametrize(
    ("width", "depth", "feet"),
    [
        ("1/4", "1/4", 24.303125),
        ("3/8", "1/4", 16.2020833),
        ("1/2", "1/4", 12.1515625),
        ("3/16", "3/16", 43.2055556),
    ],
)
def test_feet_of_a_rectangular_bead_from_10_1_fluid_ounces(width: str, depth: str, feet: float) -> None:
    wide, deep = (int(Fraction(text) * INCH) for text in (width, depth))
    assert yield_of(D("10.1"), wide, deep, "imperial") == pytest.approx(feet, rel=0.005)


def test_feet_of_a_quarter_inch_fillet_from_10_1_fluid_ounces() -> None:
    found = yield_of(D("10.1"), INCH // 4, INCH // 4, "imperial", "fillet")
    assert found == pytest.approx(48.60625, rel=0.005)


def test_metres_of_a_6_mm_bead_from_300_millilitres() -> None:
    assert yield_of(D(300), 6 * MM, 6 * MM, "metric") == pytest.approx(8.33333333, rel=0.005)


def test_the_shipped_cartridge_is_one_of_these() -> None:
    (cartridge,) = shipped().sizes("sealant-acrylic")
    assert content_in(cartridge, "fl oz") == D("10.1")
