"""Units and their factors, against the definitions that the units library pint ships, no line of ours."""

from decimal import Decimal
from fractions import Fraction

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.core.units import UNITS, converted, factor, known_units, own_unit, read_amount

DIMENSIONS = sorted(set(UNITS) - {"count", "percent"})
PAIRS = [(unit, own_unit(dimension)) for dimension in DIMENSIONS for unit in UNITS[dimension]]


@pytest.fixture(scope="module")
def shipped() -> "pint.UnitRegistry[Fraction]":
    return pint.UnitRegistry(non_int_type=Fraction)


@pytest.mark.parametrize(("unit", "own"), PAIRS)
def test_every_factor_is_the_one_of_a_general_units_library(
    unit: str, own: str, shipped: "pint.UnitRegistry[Fraction]"
) -> None:
    name = unit.replace("fl oz", "fluid_ounce").replace("gal", "gallon").replace("mL", "milliliter")
    assert factor(unit) == shipped.Quantity(Fraction(1), name).to(own).magnitude


@pytest.mark.parametrize(
    ("amount", "unit", "wanted", "expected"),
    [
        # NIST Handbook 44 (2024), Appendix C, tables of exact equivalents (from memory).
        ("1", "gal", "mL", "3785.411784"),
        ("1", "qt", "mL", "946.352946"),
        ("1", "fl oz", "mL", "29.5735295625"),
        ("1", "yd", "in", "36"),
        ("1", "lb", "kg", "0.45359237"),
        ("1", "ft^2", "m^2", "0.09290304"),
        ("60", "yd", "ft", "180"),
    ],
)
def test_exact_equivalents(amount: str, unit: str, wanted: str, expected: str) -> None:
    assert converted(Decimal(amount), unit, wanted) == Decimal(expected)


@pytest.mark.parametrize(
    ("text", "dimension", "own"),
    [
        ("350 ft^2/gal", "area-rate", Fraction(350) * Fraction("0.09290304") / Fraction("3.785411784")),
        ("8.6 m²/L", "area-rate", Fraction("8.6")),
        ("1/4 yd", "length", Fraction("0.2286")),
        ("1 1/2 in", "length", Fraction("0.0381")),
        ("10 %", "percent", Fraction(1, 10)),
        ("48 kg/m³", "density", Fraction(48)),
        ("0.15 mL", "volume", Fraction("0.15")),
        ("4", "count", Fraction(4)),
        ("100 ea", "count", Fraction(100)),
        (".5", "ratio", Fraction(1, 2)),
    ],
)
def test_amounts(text: str, dimension: str, own: Fraction) -> None:
    assert read_amount(text, dimension).own == own


@pytest.mark.parametrize(
    ("text", "dimension"),
    [("48", "density"), ("48 in", "density"), ("48 blargs", "density"), ("__import__('os')", "density"),
     ("nan kg/m^3", "density"), ("350", "area-rate"),
     ("350 ft", "area-rate"), ("-1 kg", "mass"), ("kg", "mass"), ("1e5 kg", "mass"),
     ("1/0 in", "length"), ("12 furlong", "length"), ("nan", "ratio"), ("", "count"), ("5 kg", "ratio")],
)  # fmt: skip
def test_what_is_no_amount(text: str, dimension: str) -> None:
    with pytest.raises(ValueError, match="; write"):
        read_amount(text, dimension)


def test_different_things_are_not_converted() -> None:
    with pytest.raises(ValueError, match="different things"):
        converted(Decimal(1), "gal", "kg")


def test_units_of_a_dimension_are_listed_for_messages() -> None:
    assert known_units("area-rate") == "m^2/L, ft^2/gal"


@given(st.decimals(min_value=0, max_value=10**6, places=4), st.sampled_from(PAIRS))
def test_there_and_back_again(amount: Decimal, pair: tuple[str, str]) -> None:
    unit, own = pair
    back = converted(converted(amount, unit, own), own, unit)
    assert float(back) == pytest.approx(float(amount), rel=1e-15)


@given(st.text(max_size=20), st.sampled_from(sorted(UNITS)))
def test_any_text_is_read_or_refused(text: str, dimension: str) -> None:
    try:
        amount = read_amount(text, dimension)
    except ValueError:
        return
    assert amount.own >= 0


def test_density_converts_as_the_handbook_says() -> None:
    """1 lb/ft3 = 16.018463 kg/m3: NIST SP 811, appendix B (own arithmetic from the exact inch and pound)."""
    assert float(converted(Decimal(1), "lb/ft^3", "kg/m^3")) == pytest.approx(16.018463, abs=1e-6)
