"""Made-up quotes to file: invented clients and prices, figures worked by hand."""

import datetime as dt
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from estimator.archive.summary import FiledFirm, FiledTotals, PaymentStep, QuoteLine, Summary, TaxLine

D = Decimal
FILED = dt.datetime(2026, 11, 25, 9, 30, tzinfo=dt.UTC)

# Worked by hand: 1200 + 1800 + 150 = 3150 direct; overhead 10 % 315; contingency 5 % 157.50;
# cost 3622.50; margin 25 %: price 3622.50 / 0.75 = 4830; HST 13 % 627.90; total 5457.90;
# deposit 30 % 1637.37, balance 3820.53.
QUOTE = Summary(
    number="2026-014",
    revision=0,
    client="Harbour Street Clinic",
    title="Waiting room, two walls",
    site="12 Harbour Street",
    date=dt.date(2026, 11, 20),
    currency="CAD",
    totals=FiledTotals(
        materials=D("1200.00"),
        labour=D("1800.00"),
        other=D("150.00"),
        overhead=D("315.00"),
        contingency=D("157.50"),
        cost=D("3622.50"),
        profit=D("1207.50"),
        margin=D("0.25"),
        price=D("4830.00"),
        total=D("5457.90"),
    ),
    taxes=(TaxLine("HST", D(13), D("4830.00"), D("627.90"), "12345 6789 RT0001"),),
    payments=(PaymentStep("Deposit", D("1637.37")), PaymentStep("On completion", D("3820.53"))),
    area_m2=D("18.4"),
    days=D(3),
    lines=(
        QuoteLine("Panels", "Fabric-covered panels, 50 mm", D(12), "each", D("4000.00")),
        QuoteLine("On site", "Installation", D(2), "day", D("830.00")),
    ),
    program="0.1.0",
    firm=FiledFirm("Made-up Wall Works", ("1 Example Road", "Testville"), "CA", "987654321"),
    valid_until=dt.date(2026, 12, 20),
)

Make = Callable[..., Summary]


@pytest.fixture
def make_quote() -> Make:
    """Return a maker of quotes: the one worked by hand, with the fields that a test changes."""

    def make(**changed: Any) -> Summary:
        return replace(QUOTE, **changed)

    return make


@pytest.fixture
def filed() -> dt.datetime:
    """Return the moment of filing."""
    return FILED


@pytest.fixture
def sources(tmp_path: Path) -> dict[str, Path]:
    """Return a job file, a price list, and a document in a folder of its own."""
    folder = tmp_path / "desk"
    (folder / "out").mkdir(parents=True)
    contents = {
        "job.toml": b'number = "2026-014"\n',
        "prices.csv": b"item,price\n",
        "out/quote.html": b"<p>x</p>",
    }
    for name, content in contents.items():
        (folder / name).write_bytes(content)
    return {
        "job.toml": folder / "job.toml",
        "prices.csv": folder / "prices.csv",
        "documents/quote.html": folder / "out/quote.html",
    }
