"""The bookkeeper's journal balances to the cent, and no table carries a formula that somebody planted."""

import csv
import datetime as dt
import io
import json
from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass, replace
from decimal import Decimal
from pathlib import Path

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.archive.events import Event, Kind
from estimator.archive.exporting import (
    ExportWanted,
    JournalLine,
    as_csv,
    as_json,
    exported,
    journal,
    load_chart,
    records,
)
from estimator.archive.finished import load
from estimator.archive.shares import share
from estimator.archive.store import file_quote
from estimator.archive.summary import FiledTotals, QuoteLine, Summary, TaxLine
from estimator.core.errors import InputError
from estimator.core.money import rounded
from tests.archive.filed import file_event

Make = Callable[..., Summary]
D = Decimal
DAY = dt.date(2026, 12, 1)


def _event(kind: Kind, amount: str, reference: str = "INV-1") -> Event:
    return Event("2026-014", 1, kind, DAY, D(amount), reference)


def test_the_whole_quote_is_booked_as_quoted(make_quote: Make) -> None:
    lines = journal([(make_quote(), _event("invoice", "5457.90"))], load_chart())
    assert [(n.account, n.debit, n.credit) for n in lines] == [
        ("1200", D("5457.90"), D(0)),
        ("4000", D(0), D("4830.00")),
        ("2300", D(0), D("627.90")),
    ]


def test_a_deposit_is_booked_net_and_tax(make_quote: Make) -> None:
    """1637.37 with 13 % in it: 1637.37 / 1.13 = 1449.00; 13 % of 1449.00 = 188.37."""
    lines = journal([(make_quote(), _event("invoice", "1637.37"))], load_chart())
    assert [(n.account, n.credit) for n in lines[1:]] == [("4000", D("1449.00")), ("2300", D("188.37"))]


def test_a_cent_that_no_net_amount_reaches_is_rounding(make_quote: Make) -> None:
    """At 13 %, 0.11 net is 0.12 with tax and 0.12 net is 0.14: no net amount is 0.13."""
    found = [share(make_quote(), D(n) / 100) for n in range(1, 300)]
    assert all(p.net + p.tax + p.rounding == p.amount for p in found)
    assert {abs(p.rounding) for p in found} == {D(0), D("0.01")}
    assert found[12].amount == D("0.13")
    assert found[12].rounding != 0


def test_payments_receipts_and_credits(make_quote: Make) -> None:
    rows = [
        (make_quote(), _event("paid", "100.00")),
        (make_quote(), _event("receipt", "50.00", "R")),
        (make_quote(), _event("invoice", "-113.00", "C")),
        (make_quote(), replace(_event("paid", "0"), kind="outcome", outcome="won")),
    ]
    lines = journal(rows, load_chart())
    assert [(n.entry, n.account, n.debit, n.credit) for n in lines] == [
        (1, "1000", D("100.00"), D(0)), (1, "1200", D(0), D("100.00")),
        (2, "5000", D("50.00"), D(0)), (2, "2000", D(0), D("50.00")),
        (3, "1200", D(0), D("113.00")), (3, "4000", D("100.00"), D(0)), (3, "2300", D("13.00"), D(0)),
    ]  # fmt: skip


amounts = st.integers(-500_000_00, 500_000_00).map(lambda n: D(n) / 100)
percents = st.sampled_from([D(0), D(5), D(7), D(13), D("9.975"), D("4.7")])


@given(
    st.lists(st.tuples(st.sampled_from(["invoice", "paid", "receipt"]), amounts), max_size=6),
    st.integers(0, 100_000_00), st.lists(percents, max_size=3),
)  # fmt: skip
def test_every_entry_balances(events: list[tuple[Kind, Decimal]], price: int, rates: list[Decimal]) -> None:
    net, none = D(price) / 100, D(0)
    taxes = tuple(TaxLine(f"T{i}", r, net, rounded(net * r / 100)) for i, r in enumerate(rates))
    total = net + sum((t.amount for t in taxes), none)
    totals = FiledTotals(net, none, none, none, none, net, none, none, net, total)
    line = QuoteLine("", "x", D(1), "", net)
    quote = Summary("1", 0, "c", "t", "", DAY, "CAD", totals, taxes, (), none, none, (line,), "0")
    lines = journal([(quote, Event("1", i, k, DAY, a, "r")) for i, (k, a) in enumerate(events)], load_chart())
    balance: dict[int, Decimal] = defaultdict(Decimal)
    for booked in lines:
        assert min(booked.debit, booked.credit) == 0
        assert max(booked.debit, booked.credit) > 0
        balance[booked.entry] += booked.debit - booked.credit
    assert set(balance.values()) <= {D(0)}
    assert len(balance) == sum(1 for _, a in events if a)


def test_a_firm_has_its_own_accounts(tmp_path: Path, make_quote: Make) -> None:
    own = tmp_path / "accounts.toml"
    own.write_text(
        '[accounts.income]\nnumber = "3000"\nname = "Sales"\n[taxes.HST]\nnumber = "2310"\nname = "H"\n'
    )
    lines = journal([(make_quote(), _event("invoice", "5457.90"))], load_chart(own))
    assert [n.account for n in lines] == ["1200", "3000", "2310"]


@pytest.mark.parametrize(
    "text", ["accounts = ", '[accounts.gold]\nnumber = "1"\nname = "x"\n', "[accounts.bank]\n", "\udcff"]
)
def test_a_chart_with_faults_is_refused(tmp_path: Path, text: str) -> None:
    own = tmp_path / "accounts.toml"
    own.write_bytes(text.encode(errors="surrogateescape"))
    with pytest.raises(InputError):
        load_chart(own)


@dataclass(frozen=True)
class _Row:
    text: str
    amount: Decimal
    nothing: str | None
    day: dt.date


@pytest.mark.parametrize("planted", ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "  =1", "\n=1"])
def test_a_planted_formula_is_text(planted: str) -> None:
    text = as_csv(*records(_Row, [_Row(planted, D("-5.00"), None, DAY)]))
    [row] = list(csv.DictReader(io.StringIO(text, newline="")))
    assert row["text"] == f"'{planted}"
    assert row["amount"] == "-5.00"
    assert row["day"] == "2026-12-01"


@given(st.text(max_size=30))
def test_no_text_reaches_a_spreadsheet_as_a_formula(text: str) -> None:
    cells = next(
        csv.reader(
            io.StringIO(as_csv(*records(_Row, [_Row(text, D(1), None, DAY)])), newline="").readlines()[1:]
        )
    )
    assert not cells[0].lstrip(" ").startswith(("=", "+", "-", "@", "\t", "\r", "\n"))
    assert cells[0] in {text, f"'{text}"}


@pytest.fixture
def root(tmp_path: Path, make_quote: Make, filed: dt.datetime) -> Path:
    """Return an archive of two quotes with papers out of the order of their dates."""
    root = tmp_path / "a"
    file_quote(root, make_quote(client="=HYPERLINK(1)"), {}, filed)
    file_quote(root, make_quote(number="2026-9"), {}, filed)
    file_event(root, Event("2026-9", 0, "invoice", dt.date(2026, 12, 5), D("1637.37"), "B"))
    file_event(root, Event("2026-014", 0, "invoice", dt.date(2026, 12, 1), D("5457.90"), "A"))
    file_event(root, Event("2026-014", 0, "paid", dt.date(2027, 1, 2), D("1000.00"), "A"))
    return root


def test_the_journal_is_read_by_pandas_and_balances(root: Path) -> None:
    table = pd.read_csv(io.BytesIO(exported(root, ExportWanted("journal"))), dtype={"account": str})
    assert list(table.columns) == list(JournalLine.__dataclass_fields__)
    assert list(table["date"]) == ["2026-12-01"] * 3 + ["2026-12-05"] * 3 + ["2027-01-02"] * 2
    assert (table.groupby("entry")[["debit", "credit"]].sum().round(2).diff(axis=1)["credit"] == 0).all()
    assert set(table["client"]) == {"'=HYPERLINK(1)", "Harbour Street Clinic"}


def test_the_journal_can_be_of_one_year(root: Path) -> None:
    table = pd.read_csv(
        io.BytesIO(
            exported(root, ExportWanted("journal", first=dt.date(2026, 1, 1), last=dt.date(2026, 12, 31)))
        )
    )
    assert set(table["reference"]) == {"A", "B"}
    assert len(table) == 6


@pytest.mark.parametrize("kind", ["quotes", "papers", "lines", "journal"])
def test_csv_and_json_say_the_same(root: Path, kind: str) -> None:
    from_csv = pd.read_csv(io.BytesIO(exported(root, ExportWanted(kind))))
    from_json = pd.DataFrame(json.loads(exported(root, ExportWanted(kind, form="json"))))
    assert list(from_csv.columns) == list(from_json.columns)
    assert len(from_csv) == len(from_json) > 0
    for name in from_csv.select_dtypes("number").columns:
        assert list(from_csv[name].fillna(0)) == list(pd.to_numeric(from_json[name]).fillna(0)), name


@pytest.mark.parametrize(
    "wanted",
    [
        ExportWanted("gold"), ExportWanted("quotes", form="xls"), ExportWanted("quotation"),
        ExportWanted("invoice", "2026-7"),
        ExportWanted("invoice", "2026-9", reference="Z"),
    ],
)  # fmt: skip
def test_what_cannot_be_exported_is_said(root: Path, wanted: ExportWanted) -> None:
    with pytest.raises(InputError):
        exported(root, wanted)


def test_an_invoice_is_exported_with_what_was_paid(root: Path) -> None:
    xml = exported(root, ExportWanted("invoice", "2026-014"))
    assert b'<cbc:PrepaidAmount currencyID="CAD">1000.00<' in xml
    assert b'<cbc:PayableAmount currencyID="CAD">4457.90<' in xml
    assert b"<cbc:ID>B<" in exported(root, ExportWanted("invoice", "2026-9", reference="b"))
    assert b"2026-9-r0" in exported(root, ExportWanted("quotation", "2026-9"))


def test_json_amounts_are_numbers(make_quote: Make) -> None:
    [line, *_] = journal([(make_quote(), _event("invoice", "5457.90"))], load_chart())
    assert json.loads(as_json(*records(JournalLine, [line])))[0]["debit"] == 5457.9


ACTUAL = {
    "a.json": '{"hours": {"cut": 6.5, "fit": 10}, "costs": {"materials": 1300.10}}',
    "a.csv": "kind,name,amount\nhours,cut,6.5\nhours,fit,10\ncost,materials,1300.10\n",
}


@pytest.mark.parametrize(("name", "text"), ACTUAL.items())
def test_actual_figures_are_read(tmp_path: Path, name: str, text: str) -> None:
    (tmp_path / name).write_text(text)
    spent = load(tmp_path / name)
    assert spent.hours == (("cut", D("6.5")), ("fit", D(10)))
    assert (spent.cost, spent.total_hours) == (D("1300.10"), D("16.5"))


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("a.json", "{"), ("a.json", "[]"), ("a.json", "{}"), ("a.json", '{"hours": 5}'),
        ("a.json", '{"hours": {"cut": -1}}'), ("a.json", '{"hours": {"cut": "many"}}'),
        ("a.json", '{"days": {"cut": 1}}'), ("a.json", '{"hours": {"cut": 1e99}}'),
        ("a.json", '{"hours": {"cut": NaN}}'), ("a.json", '{"hours": {"cut": null}}'),
        ("a.csv", ""), ("a.csv", "a,b\n1,2\n"), ("a.csv", "kind,name,amount\nhours,,1\n"),
        ("a.csv", "kind,name,amount\nhours,cut\n"), ("a.csv", "kind,name,amount\nhours,cut,x\n"),
    ],
)  # fmt: skip
def test_actual_figures_with_faults_are_refused(tmp_path: Path, name: str, text: str) -> None:
    (tmp_path / name).write_text(text)
    with pytest.raises(InputError):
        load(tmp_path / name)
