"""Units of volume, area and density as the takeoff converts them.

Source: NIST Handbook 44 (2024), Appendix C: 1 US gallon = 231 cubic inches, 128 fluid ounces; 1 ft = 12 in;
1 lb = 0.453 592 37 kg (gallon read in a published excerpt). A gallon spread one thousandth of an inch thick
covers 231 / (0.001 x 144) = 1604.17 ft2, printed as 1604 in coating guides (own arithmetic).
"""

from decimal import Decimal as D

import pytest

from estimator.core.money import rounded
from estimator.core.units import INCH, converted, measures, parse_length
from estimator.takeoff.inputs import unit_factors


def cubes_per_ounce() -> D:
    """Return the cubic inches in a fluid ounce that the workbook's sealant is worked out with."""
    value = unit_factors(measures("imperial", "CAD")).value("cubes_per_bead")
    assert isinstance(value, D)
    return value


def test_a_gallon_is_231_cubic_inches() -> None:
    ounces = converted(D(1), "gal", "fl oz")
    assert ounces * cubes_per_ounce() == 231


def test_a_cartridge_of_10_1_fluid_ounces_holds_18_23_cubic_inches() -> None:
    # Own arithmetic: 10.1 x 231 / 128 = 18.2273; suppliers print 18.2 to 18.3.
    assert float(D("10.1") * cubes_per_ounce()) == pytest.approx(18.2273437, abs=1e-3)


def test_a_gallon_one_mil_thick_covers_1604_square_feet() -> None:
    mil_m = D(INCH) / 1000 / 10**9
    square_metres_a_litre = D("0.001") / mil_m
    found = converted(square_metres_a_litre, "m^2/L", "ft^2/gal")
    assert float(found) == pytest.approx(1604.1667, abs=1e-3)


def test_a_roll_of_60_yards_is_180_feet() -> None:
    assert converted(D(60), "yd", "ft") == 180
    assert converted(D(60), "yd", "m") == D("54.864")


@pytest.mark.parametrize(("metric", "pounds"), [(128, 7.991), (48, 2.997)])
def test_density(metric: int, pounds: float) -> None:
    # Own arithmetic: 1 lb/ft3 = 16.018463 kg/m3.
    assert float(converted(D(metric), "kg/m^3", "lb/ft^3")) == pytest.approx(pounds, abs=1e-3)


@pytest.mark.parametrize(
    ("inches", "millimetres"), [("1/4 in", "6.4"), ("3/8 in", "9.5"), ("1/2 in", "12.7"), ("5/8 in", "15.9")]
)
def test_thickness_of_gypsum_board(inches: str, millimetres: str) -> None:
    # ASTM C1396 and the industry's property sheets print both, to 0.1 mm (read in a published excerpt).
    assert rounded(D(parse_length(inches)) / 10**6, 1) == D(millimetres)
