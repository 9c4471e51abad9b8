"""ISO 12999-2:2020, table 4: worked example of expanded uncertainty (k = 2), printed to two decimals."""

import pytest

from estimator.acoustics.ratings import reproducibility


def test_table_4_at_the_octave_centres() -> None:
    found = reproducibility((0.38, 0.36, 0.49, 0.68, 0.75, 0.81))
    assert [round(u, 2) for u in found] == pytest.approx([0.17, 0.09, 0.08, 0.08, 0.09, 0.13], abs=1e-9)
