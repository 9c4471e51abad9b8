"""The page of errors holds what the model gives now, and what it says of them is true."""

from collections.abc import Iterator

import numpy as np
import pytest

from estimator.acoustics.absorber import PUBLISHED_RMS, Absorption, absorb
from tests.benchmarks.absorption_rows import (
    END,
    PAGE,
    START,
    Row,
    errors,
    rms,
    rows,
    table,
    within_laboratories,
)

PUBLISHED = rows()
EXPECTED = np.array([not r.outlier for r in PUBLISHED])


def test_the_page_is_up_to_date() -> None:
    page = PAGE.read_text(encoding="utf-8")
    assert page.partition(START)[2].partition(END)[0].strip() == table().strip()


def test_stated_errors() -> None:
    finite, infinite = errors(PUBLISHED)[EXPECTED], errors(PUBLISHED, finite=False)[EXPECTED]
    assert rms(finite) == pytest.approx(PUBLISHED_RMS, abs=0.005)
    assert np.abs(finite).max() == pytest.approx(0.38, abs=0.005)
    assert finite.mean(axis=0)[0] == pytest.approx(0.09, abs=0.005)
    assert infinite.mean(axis=0)[1:3] == pytest.approx(-0.3, abs=0.03)


def test_stated_comparison_with_laboratories_and_with_the_band() -> None:
    """The page says 70 % and one in seven."""
    known = [r for r in PUBLISHED if not r.outlier]
    assert within_laboratories(known, errors(known)) == pytest.approx(0.70, abs=0.01)
    bands = [absorb(r.makeup) for r in known]
    inside = [low <= a <= high for r, b in zip(known, bands, strict=True) for low, a, high in _cells(r, b)]
    assert np.mean(inside) == pytest.approx(1 / 7, abs=0.01)


def _cells(row: Row, band: Absorption) -> Iterator[tuple[float, float, float]]:
    return zip(band.low, row.alpha, band.high, strict=True)


def test_the_finite_sample_is_nearer_in_all() -> None:
    assert rms(errors(PUBLISHED)) < 0.7 * rms(errors(PUBLISHED, finite=False))
