"""What is filed of an estimate is what the estimate says, and the record adds up."""

from decimal import Decimal
from pathlib import Path

import pytest
from lxml import etree

from estimator.archive import ubl
from estimator.archive.gather import gather, summary_of
from estimator.office.edits import edits_path
from tests.examples import FOLDER, estimate_of

NAMES = ("one_panel", "rehearsal_room")


@pytest.mark.parametrize("name", NAMES)
def test_the_record_says_what_the_estimate_says_and_adds_up(name: str) -> None:
    result = estimate_of(name)
    record, totals = summary_of(result), result.totals
    assert record.problems() == ()
    assert record.number == result.job.header.number
    assert (record.totals.price, record.totals.total, record.totals.cost) == (
        totals.price,
        totals.total,
        totals.cost,
    )
    assert sum(line.amount for line in record.lines) == totals.price
    assert sum(p.amount for p in record.payments) == totals.total
    assert sum(h for _, h in record.hours) > 0


def test_the_area_is_that_of_the_frame() -> None:
    """The frame is 60 in by 84 in (examples/one_panel/hand.md): 5040 in² at 0.00064516 m² are 3.2516 m²."""
    assert summary_of(estimate_of("one_panel")).area_m2 == Decimal("3.2516")


@pytest.mark.parametrize("name", NAMES)
def test_its_quotation_keeps_price_tax_and_total(name: str) -> None:
    result = estimate_of(name)
    root = etree.fromstring(ubl.quotation(summary_of(result)))
    found = {str(e.tag).rpartition("}")[2]: e.text for e in root.find("{*}QuotedMonetaryTotal")}  # type: ignore[union-attr]
    assert Decimal(found["TaxExclusiveAmount"] or "") == result.totals.price
    assert Decimal(found["PayableAmount"] or "") == result.totals.total


def test_the_offices_edits_are_filed_with_the_job(tmp_path: Path) -> None:
    job = tmp_path / "job.toml"
    job.write_bytes((FOLDER / "one_panel/job.toml").read_bytes())
    assert "job.edits.toml" not in gather(job, estimate_of("one_panel"))[1]
    edits_path(job).write_text("schema = 1\n")
    assert gather(job, estimate_of("one_panel"))[1]["job.edits.toml"] == edits_path(job)
