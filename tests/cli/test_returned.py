"""A finished job's workbook comes back: filed as actuals, shown against the quote, learned from."""

import datetime as dt
import json
from collections.abc import Callable
from decimal import Decimal as D
from pathlib import Path
from typing import Any

import pytest
from openpyxl import load_workbook
from typer.testing import CliRunner, Result

from estimator.calc.tables import FieldAddresses
from estimator.catalogue.load import load
from estimator.cli.app import gather
from estimator.pipeline import Estimate, estimate
from estimator.tables.book import book_of
from estimator.workbook.control import completed

JOB = Path(__file__).parents[2] / "examples" / "one_panel" / "job.toml"
HOURS = {"wrap": 1.25, "hang": 0.5}
Says = Callable[..., Result]


def example() -> Estimate:
    job, catalogue, _ = load(JOB)
    return estimate(job, catalogue)


Bill = dict[str, str | float | dt.date]


def filled(filed: Path, hours: dict[str, float], paid: float | None, bills: tuple[Bill, ...] = ()) -> Path:
    """Fill hours, the first section's cost, and invoices into a copy of the workbook as the office would."""
    book = completed(book_of(example()))
    place = FieldAddresses(book)
    workbook = load_workbook(filed)

    def type_in(table: str, field: str, row: str, value: str | float | dt.date) -> None:
        keys = book.table(table)["key"].values
        sheet, at, column = place.cell(book.table(table)[field], keys.index(row))
        workbook[sheet].cell(at, column).value = value

    for task, spent in hours.items():
        type_in("actual_hours", "spent", task, spent)
    if paid is not None:
        type_in("actual_costs", "paid", str(book.table("actual_costs")["key"].values[0]), paid)
    for row, bill in enumerate(bills, 1):
        for field, typed in bill.items():
            type_in("invoices", field, f"invoice-{row}", typed)
    out = filed.parents[4] / "returned.xlsx"
    workbook.save(out)
    return out


@pytest.fixture
def says(tmp_path: Path) -> Says:
    """Return the command, run with an archive in which the example is filed."""

    def run(*words: str | Path) -> Result:
        env = {"BATTENBOOK_ARCHIVE": str(tmp_path / "archive")}
        return CliRunner().invoke(gather(), list(map(str, words)), env=env)

    assert run("archive", "add", JOB).exit_code == 0
    return run


def result(done: Result) -> Any:
    assert done.exit_code == 0, done.output
    return json.loads(done.stdout)["result"]


def workbook_in(tmp_path: Path) -> Path:
    (found,) = (tmp_path / "archive").glob("2026/*/2026-001-r0/*.xlsx")
    return found


def test_hours_and_costs_are_shown_against_the_quote(says: Says, tmp_path: Path) -> None:
    paper = filled(workbook_in(tmp_path), HOURS, 400.0)
    told = json.loads(says("archive", "actual", "2026-001", paper, "--json").stdout)
    assert {p["severity"] for p in told["problems"]} == {"warning"}
    assert "nothing paid is filled in for" in told["problems"][0]["what"]
    account = result(says("archive", "show", "2026-001", "--json"))["account"]
    assert account["actual_hours"] == 1.75
    one = example()
    lines = one.scope.labour.workings[1]
    rates = dict(zip(lines["key"].values, lines["hour_cost"].values, strict=True))
    labour = sum((D(str(h)) * D(str(rates[t])) for t, h in HOURS.items()), D(0))
    cost = D(400) + round(labour, 2) + one.totals.overhead + one.totals.other
    assert account["actual_cost"] == float(cost)
    earned = (one.totals.price - cost) / one.totals.price
    assert account["margin_earned"] == pytest.approx(float(earned))
    assert "returned.xlsx" in says("archive", "show", "2026-001").stdout
    assert says("archive", "verify").exit_code == 0


def test_archived_jobs_teach_rates(says: Says, tmp_path: Path) -> None:
    nothing = says("learn", "--archive", tmp_path / "archive")
    assert nothing.exit_code == 3
    paper = filled(workbook_in(tmp_path), HOURS, 400.0)
    assert says("archive", "actual", "2026-001", paper).exit_code == 0
    beside = result(says("learn", "--job", JOB, "--workbook", paper, "--json"))["rates"]
    rates = result(says("learn", "--archive", tmp_path / "archive", "--json"))["rates"]
    assert rates == beside
    assert {r["task"]: r["hours"] for r in rates} == HOURS


def test_hours_reported_as_a_list_teach_too_and_strange_names_are_said(says: Says, tmp_path: Path) -> None:
    spent = tmp_path / "spent.csv"
    spent.write_text("kind,name,amount\nhours,wrap,1.25\nhours,making tea,3\n", encoding="utf-8")
    assert says("archive", "actual", "2026-001", spent).exit_code == 0
    told = json.loads(says("learn", "--archive", tmp_path / "archive", "--json").stdout)
    assert [(r["task"], r["hours"]) for r in told["result"]["rates"]] == [("wrap", 1.25)]
    assert "making tea" in told["problems"][0]["what"]


def test_an_empty_workbook_reports_nothing(says: Says, tmp_path: Path) -> None:
    done = says("archive", "actual", "2026-001", filled(workbook_in(tmp_path), {}, None))
    assert done.exit_code == 3
    assert "no hours and no cost" in done.stderr


FIRST: Bill = {"number": "INV-1", "date": dt.date(2026, 3, 9), "amount": 300.0, "received": 100.0}
SECOND: Bill = {"number": "INV-2", "date": dt.date(2026, 4, 2), "amount": 50.25}


def papers(says: Says) -> list[tuple[str, str, float, str]]:
    told = result(says("archive", "show", "2026-001", "--json"))["papers"]
    return [(p["kind"], p["reference"], p["amount"], p["date"]) for p in told]


def test_typed_invoices_and_payments_are_filed_once_as_the_job_goes_on(says: Says, tmp_path: Path) -> None:
    paper = filled(workbook_in(tmp_path), {}, None, (FIRST,))
    first = ("archive", "actual", "2026-001", paper, "--date", "2026-03-20")
    assert len(result(says(*first, "--json"))["filed"]) == 2
    then = [("invoice", "INV-1", 300.0, "2026-03-09"), ("paid", "INV-1", 100.0, "2026-03-20")]
    assert papers(says) == then
    assert says(*first).stdout == "Nothing new: all of it is filed already\n"
    later = filled(workbook_in(tmp_path), {}, None, ({**FIRST, "received": 300.0}, SECOND))
    assert says("archive", "actual", "2026-001", later, "--date", "2026-04-30").exit_code == 0
    then += [("paid", "INV-1", 200.0, "2026-04-30"), ("invoice", "INV-2", 50.25, "2026-04-02")]
    assert papers(says) == then
    account = result(says("archive", "show", "2026-001", "--json"))["account"]
    assert (account["invoiced"], account["paid"], account["due"]) == (350.25, 300.0, 50.25)
    assert says("archive", "verify").exit_code == 0


def test_the_paper_of_a_typed_invoice_is_filed_once_and_counts_nothing(says: Says, tmp_path: Path) -> None:
    says("archive", "actual", "2026-001", filled(workbook_in(tmp_path), {}, None, (FIRST,)))
    words = (
        "archive",
        "invoice",
        "2026-001",
        JOB,
        "--reference",
        "inv-1",
        "--date",
        "2026-03-09",
        "--amount",
    )
    other = says(*words, "299.00")
    assert (other.exit_code, "is filed already" in other.stderr) == (4, True)
    assert "Filed paper inv-1, 2026-03-09" in says(*words, "300.00").stdout
    assert says(*words, "300.00").exit_code == 4
    account = result(says("archive", "show", "2026-001", "--json"))["account"]
    assert (account["invoiced"], account["paid"]) == (300.0, 100.0)
    journal = says("archive", "export", "journal").stdout
    lines = journal.count("invoice INV-1"), journal.count("paper")
    assert lines == (3, 0), "receivable, income and one tax, and nothing for the paper"
    assert says("archive", "verify").exit_code == 0


def test_hours_and_invoices_of_one_workbook_are_filed_together(says: Says, tmp_path: Path) -> None:
    paper = filled(workbook_in(tmp_path), HOURS, 400.0, (FIRST,))
    assert says("archive", "actual", "2026-001", paper).exit_code == 0
    assert [p[0] for p in papers(says)] == ["invoice", "paid", "actual"]


@pytest.mark.parametrize(
    ("bill", "said"),
    [
        ({**FIRST, "amount": 301.0}, "is filed as 300.00 of 2026-03-09"),
        ({**FIRST, "date": dt.date(2026, 3, 10)}, "is filed as 300.00 of 2026-03-09"),
        ({**FIRST, "received": 50.0}, "payments of 100.00 are filed"),
        ({"amount": 5.0, "date": dt.date(2026, 3, 9)}, "has no invoice number"),
        ({"number": "INV-9", "amount": 5.0}, "has no date"),
        ({"number": "INV-9", "date": dt.date(2026, 3, 9)}, "has no amount"),
        ({**FIRST, "number": "INV-2"}, "stands already in invoice-1"),
        ({**FIRST, "number": "INV-9", "amount": 5.005}, "not whole cents"),
    ],
)
def test_a_row_that_cannot_be_files_nothing_of_the_workbook(
    says: Says, tmp_path: Path, bill: Bill, said: str
) -> None:
    day = ("--date", "2026-03-20")
    paid = ("archive", "paid", "2026-001", "--amount", "100.00", "--invoice", "INV-1", *day)
    for words in (("archive", "invoice", "2026-001", JOB, "--amount", "300.00", "--date", "2026-03-09",
                   "--reference", "INV-1"), paid):  # fmt: skip
        assert says(*words).exit_code == 0
    before = papers(says)
    done = says("archive", "actual", "2026-001", filled(workbook_in(tmp_path), HOURS, 400.0, (SECOND, bill)))
    assert (done.exit_code, said in done.stderr) == (3, True), done.output
    assert "Actuals, invoice-2" in done.stderr
    assert papers(says) == before


def test_another_jobs_workbook_is_refused(says: Says, tmp_path: Path) -> None:
    other = JOB.parents[1] / "voice_booth" / "job.toml"
    assert says("archive", "add", other).exit_code == 0
    done = says("archive", "actual", "2026-031", filled(workbook_in(tmp_path), HOURS, None))
    assert done.exit_code == 3
    assert "is the workbook of job 2026-001" in done.stderr
