"""Withdrawal of wood screws: W = 2850 G^2 D pounds for each inch of thread.

Source: NDS 2018, National Design Specification for Wood Construction, section 12.2.2, equation 12.2-2. The
formula was read in a published excerpt; the table's whole numbers (table 12.2B) are own arithmetic. The
last row is a worked example of an engineering handbook, read in a published excerpt, which prints 109.
"""

import pytest

from estimator.core.units import INCH
from estimator.layout.fixings import POUND_FORCE_N, withdrawal_n


@pytest.mark.parametrize(
    ("gravity", "diameter_in", "pounds", "within"),
    [
        (0.42, 0.138, 69, 0.5),  # No. 6 in spruce-pine-fir
        (0.42, 0.164, 82, 0.5),  # No. 8 in spruce-pine-fir
        (0.45, 0.190, 109, 1.0),  # No. 10
    ],
)
def test_reference_withdrawal_value(gravity: float, diameter_in: float, pounds: float, within: float) -> None:
    found = withdrawal_n(gravity, round(diameter_in * INCH), INCH) / POUND_FORCE_N
    assert found == pytest.approx(pounds, abs=within)
