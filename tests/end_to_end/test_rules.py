"""The fifteen rules of a trustworthy workbook hold in every example's file as delivered."""

from pathlib import Path

import pytest

from estimator.catalogue.load import load
from estimator.pipeline import estimate
from estimator.tables.book import book_of
from estimator.workbook.build import workbook_bytes
from tests.workbook.rules import breaches

EXAMPLES = Path(__file__).parents[2] / "examples"
NAMES = sorted(p.parent.name for p in EXAMPLES.glob("*/job.toml"))


@pytest.mark.parametrize("name", NAMES)
def test_no_rule_is_broken(name: str) -> None:
    job, catalogue, _ = load(EXAMPLES / name / "job.toml")
    raw = workbook_bytes(book_of(estimate(job, catalogue)), {"job_id": name, "title": name}, "letter")
    assert breaches(raw) == {}
