"""The page of errors holds what the model gives now, and what it says of them is true."""

import numpy as np
import pytest

from tests.benchmarks.absorption_rows import END, PAGE, START, errors, rms, rows, table

PUBLISHED = rows()
EXPECTED = np.array([not r.outlier for r in PUBLISHED])


def test_the_page_is_up_to_date() -> None:
    page = PAGE.read_text(encoding="utf-8")
    assert page.partition(START)[2].partition(END)[0].strip() == table().strip()


def test_stated_errors() -> None:
    finite, infinite = errors(PUBLISHED)[EXPECTED], errors(PUBLISHED, finite=False)[EXPECTED]
    assert rms(finite) == pytest.approx(0.12, abs=0.005)
    assert np.abs(finite).max() == pytest.approx(0.38, abs=0.005)
    assert finite.mean(axis=0)[0] == pytest.approx(0.09, abs=0.005)
    assert infinite.mean(axis=0)[1:3] == pytest.approx(-0.3, abs=0.03)


def test_the_finite_sample_is_nearer_in_all() -> None:
    assert rms(errors(PUBLISHED)) < 0.7 * rms(errors(PUBLISHED, finite=False))
