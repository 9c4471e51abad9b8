"""ISO 11654:1997: practical and weighted absorption coefficient, shape indicators and class.

Annex A.1 and A.2, the reference curve and 4.1 were read in a published excerpt; class limits but A's are from
memory (annex B).
"""

from decimal import Decimal

import pytest

from estimator.acoustics.ratings import REFERENCE, UNFAVOURABLE, absorption_class, practical, rate, weighted


@pytest.mark.parametrize(
    ("alpha_p", "written", "letter"),
    [
        ((0.35, 0.70, 0.65, 0.60, 0.55), "0.60", "C"),
        ((0.35, 1.00, 0.65, 0.60, 0.55), "0.60(M)", "C"),
        ((0.20, 0.70, 0.90, 0.95, 1.00), "0.50(MH)", "D"),
    ],
)
def test_annex_a(alpha_p: tuple[float, float, float, float, float], written: str, letter: str) -> None:
    """The third is own arithmetic."""
    found = rate((0.1, *alpha_p))
    assert (found.weighted, found.absorption_class) == (written, letter)


def test_reference_curve_and_limit() -> None:
    assert REFERENCE == (80, 100, 100, 100, 90)
    assert UNFAVOURABLE == 10


def test_reference_curve_rates_itself() -> None:
    assert weighted([Decimal(r) / 100 for r in REFERENCE]) == (Decimal("1.00"), "")


@pytest.mark.parametrize(
    ("thirds", "alpha_p"),
    [
        ((0.92,), "0.90"),
        ((0.30, 0.35, 0.40), "0.35"),
        ((1.00, 1.00, 1.00), "1.00"),
        ((0.53, 0.55, 0.57), "0.55"),
        ((1.10, 1.15, 1.20), "1.00"),
        ((0.37, 0.375, 0.38), "0.40"),
    ],
)
def test_practical_coefficient(thirds: tuple[float, ...], alpha_p: str) -> None:
    """The last is a tie after rounding to two decimals: 0.375 -> 0.38 -> 0.40."""
    assert practical(thirds) == Decimal(alpha_p)


@pytest.mark.parametrize(
    ("alpha_w", "letter"),
    [
        ("0.90", "A"), ("0.85", "B"), ("0.80", "B"), ("0.75", "C"), ("0.60", "C"), ("0.55", "D"),
        ("0.30", "D"), ("0.25", "E"), ("0.15", "E"), ("0.10", "not classified"),
    ],
)  # fmt: skip
def test_class_limits(alpha_w: str, letter: str) -> None:
    assert absorption_class(Decimal(alpha_w)) == letter


def test_nothing_absorbed_is_rated_zero() -> None:
    found = rate((0.0,) * 6)
    assert (found.alpha_w, found.absorption_class) == (Decimal(0), "not classified")
