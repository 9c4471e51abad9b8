"""How far paint goes in theory, from its solids and the film that is left.

Source: worked examples of a published coating guide (read in an excerpt): 65 % solids by volume at 5 mil dry
give 1604 x 0.65 / 5 = 208.52 ft2/gal, and at 125 um 1000 x 0.65 / 125 = 5.2 m2/L.
"""

import pytest

from estimator.core.units import converted, read_amount


def test_square_feet_a_gallon_at_5_mil() -> None:
    rate = read_amount("65 % solids at 5.0 mil", "area-rate")
    assert float(converted(rate.number, rate.unit, "ft^2/gal")) == pytest.approx(208.52, abs=0.05)


def test_square_metres_a_litre_at_125_um() -> None:
    rate = read_amount("65 % solids at 125 um", "area-rate")
    assert float(converted(rate.number, rate.unit, "m^2/L")) == pytest.approx(5.2, abs=0.01)


@pytest.mark.parametrize("text", ["0 % solids at 5 mil", "120 % solids at 5 mil", "65 % solids at 0 um"])
def test_no_coat_of_paint(text: str) -> None:
    with pytest.raises(ValueError, match="no coat of paint"):
        read_amount(text, "area-rate")
