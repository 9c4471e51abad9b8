from decimal import Decimal

import pytest

from estimator.core.units import FOOT, INCH, MM
from estimator.job.fields import parse_coordinate, parse_money, parse_percent, parse_positive


def test_coordinates_may_be_negative() -> None:
    assert parse_coordinate("-2 ft 1/2 in") == -(2 * FOOT + INCH // 2)
    assert parse_coordinate("15 mm") == 15 * MM


def test_nothing_is_not_a_length_over_nothing() -> None:
    with pytest.raises(ValueError, match="more than 0"):
        parse_positive("0 in")


@pytest.mark.parametrize(("text", "amount"), [("150.00", "150.00"), ("0.5", "0.5"), (" 7 ", "7")])
def test_money(text: str, amount: str) -> None:
    assert parse_money(text) == Decimal(amount)


@pytest.mark.parametrize("value", [150.0, 150, True, "-1", "1,50", "1e3", "NaN", "", "$5", "١٢"])
def test_what_is_no_money(value: object) -> None:
    with pytest.raises(ValueError, match=r"quotes|amount"):
        parse_money(value)


@pytest.mark.parametrize(
    ("text", "fraction"), [("12.5 %", "0.125"), ("0%", "0"), ("9.975 %", "0.09975"), ("100 %", "1")]
)
def test_percentages_are_exact_fractions(text: str, fraction: str) -> None:
    assert parse_percent(text) == Decimal(fraction)


@pytest.mark.parametrize("value", [12, 0.12, "12", "-3 %", "per cent", "1e2 %", "% 5"])
def test_what_is_no_percentage(value: object) -> None:
    with pytest.raises(ValueError, match=r"12\.5 %"):
        parse_percent(value)
