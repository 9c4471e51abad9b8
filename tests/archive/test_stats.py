"""The figures of the archive, and the workbook that adds them up again by formulas of its own."""

import datetime as dt
import io
import math
import shutil
import subprocess
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import openpyxl
import pytest

from estimator.archive.events import Event, Spent
from estimator.archive.index import Account, accounts, contents
from estimator.archive.stats import figures, frame, plain
from estimator.archive.stats_workbook import AT, FIRST, SUMS, workbook
from estimator.archive.store import file_quote
from estimator.archive.summary import Summary
from tests.archive.filed import file_event

Make = Callable[..., Summary]
D = Decimal
DAY = dt.date(2026, 12, 1)


@pytest.fixture
def found(tmp_path: Path, make_quote: Make, filed: dt.datetime) -> tuple[Account, ...]:
    """Return accounts of four quotes: two years, three clients, two currencies."""
    root = tmp_path / "a"
    file_quote(root, make_quote(), {}, filed)
    file_quote(root, make_quote(number="2026-15", client=">0"), {}, filed)
    file_quote(root, make_quote(number="2026-16", client="=1+1", area_m2=D(0)), {}, filed)
    file_quote(root, make_quote(number="2025-2", client=">0", date=dt.date(2025, 5, 1)), {}, filed)
    file_quote(
        root, make_quote(number="2025-3", client=">0", date=dt.date(2025, 5, 2), currency="USD"), {}, filed
    )
    file_event(root, Event("2026-014", 0, "outcome", DAY, outcome="won"))
    file_event(root, Event("2025-2", 0, "outcome", DAY, outcome="won"))
    file_event(root, Event("2026-15", 0, "outcome", DAY, outcome="lost"))
    file_event(root, Event("2026-014", 0, "actual", DAY, spent=Spent((), (("materials", D("3381.00")),))))
    file_event(root, Event("2026-014", 0, "invoice", DAY, D("1637.37"), "1"))
    file_event(root, Event("2026-014", 0, "paid", DAY, D("1000.00"), "1"))
    return accounts(contents(root))


def test_figures_by_year_worked_by_hand(found: tuple[Account, ...]) -> None:
    rows = plain(figures(found, "year"))
    assert [(r["year"], r["currency"], r["quotes"]) for r in rows] == [
        (2025, "CAD", 1), (2025, "USD", 1), (2026, "CAD", 3),
    ]  # fmt: skip
    this = rows[2]
    assert (this["won"], this["lost"], this["open"], this["won_share"]) == (1, 1, 1, 0.5)
    assert this["price"] == 3 * 4830
    assert this["price_won"] == 4830
    assert this["margin_quoted"] == pytest.approx(0.25, abs=1e-12)
    assert (this["jobs_reported"], this["margin_earned"]) == (1, pytest.approx(0.3, abs=1e-12))
    assert this["price_per_m2"] == pytest.approx(
        2 * 4830 / (2 * 18.4), abs=1e-9
    )  # the one without area is left out
    assert (this["invoiced"], this["paid"], this["due"]) == (1637.37, 1000.0, pytest.approx(637.37, abs=1e-9))


def test_what_cannot_be_divided_is_nothing(found: tuple[Account, ...]) -> None:
    rows = plain(figures(found, "client"))
    odd = next(r for r in rows if r["client"] == "=1+1")
    assert (odd["won_share"], odd["price_per_m2"], odd["margin_earned"]) == (None, None, None)


def test_nothing_filed_gives_no_figures() -> None:
    assert plain(figures((), "year")) == []
    assert len(frame(())) == 0
    assert workbook(())


def test_a_frame_has_a_row_for_each_quote(found: tuple[Account, ...]) -> None:
    table = frame(found)
    assert list(table["number"]) == ["2025-2", "2025-3", "2026-014", "2026-15", "2026-16"]
    assert table["actual_cost"].dtype == float


def test_a_clients_name_is_never_a_formula(found: tuple[Account, ...]) -> None:
    book = openpyxl.load_workbook(io.BytesIO(workbook(found)))
    cells = [c for sheet in book for row in sheet.iter_rows() for c in row if c.value == "=1+1"]
    assert len(cells) == 2
    assert all(c.data_type == "s" for c in cells)


def test_sums_and_shares_are_formulas(found: tuple[Account, ...]) -> None:
    book = openpyxl.load_workbook(io.BytesIO(workbook(found)))
    sheet = book["By year"]
    assert [str(sheet.cell(FIRST, 3 + i).value)[0] for i in range(len(SUMS))] == ["="] * len(SUMS)
    assert book["Quotes"][f"{AT['margin']}{FIRST}"].value == '=IF(J5=0,"",(J5-K5)/J5)'


def _recalculated(tmp_path: Path, content: bytes) -> openpyxl.Workbook:
    """Return the workbook as LibreOffice works it out."""
    (tmp_path / "in").mkdir()
    (tmp_path / "in/stats.xlsx").write_bytes(content)
    profile = (tmp_path / "profile").as_uri()
    where = ("--outdir", str(tmp_path / "out"), str(tmp_path / "in/stats.xlsx"))
    command = ["soffice", f"-env:UserInstallation={profile}", "--headless", "--convert-to", "xlsx", *where]
    subprocess.run(command, check=True, capture_output=True, timeout=180)
    return openpyxl.load_workbook(tmp_path / "out/stats.xlsx", data_only=True)


HEADS = {
    "quotes": "Quotes", "won": "Won", "lost": "Lost", "open": "Open", "won_share": "Won share",
    "price": "Price before tax", "price_won": "Price of those won", "margin_quoted": "Margin quoted",
    "margin_won": "Margin quoted, won", "jobs_reported": "Jobs reported",
    "margin_reported_quoted": "Margin quoted, reported", "margin_earned": "Margin earned",
    "area_m2": "Treated area, m²", "price_per_m2": "Price per m²", "invoiced": "Invoiced", "paid": "Paid",
    "due": "Invoiced, not paid",
}  # fmt: skip


@pytest.mark.libreoffice
@pytest.mark.skipif(shutil.which("soffice") is None, reason="LibreOffice is not installed")
def test_the_workbooks_formulas_agree_with_the_figures(found: tuple[Account, ...], tmp_path: Path) -> None:
    book = _recalculated(tmp_path, workbook(found))
    for by, name in (("year", "By year"), ("client", "By client")):
        heads, *rows = book[name].iter_rows(min_row=FIRST - 1, values_only=True)
        expected = figures(found, by).to_dict("records")
        assert len(rows) == len(expected)
        for row, want in zip(rows, expected, strict=True):
            got = dict(zip(heads, row, strict=True))
            for key, head in HEADS.items():
                if math.isnan(float(want[key])):
                    assert got[head] in {None, ""}, (by, head)
                else:
                    assert got[head] == pytest.approx(float(want[key]), abs=1e-9), (by, head)
