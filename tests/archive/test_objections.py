"""What cannot be right is refused unless somebody says why; what was filed wrongly is reversed, and stays."""

import datetime as dt
import json
from collections.abc import Callable
from dataclasses import fields, replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from estimator.archive import exporting
from estimator.archive.events import Event, in_force
from estimator.archive.exporting import ExportWanted
from estimator.archive.index import Account, accounts, contents
from estimator.archive.ledger import Place
from estimator.archive.store import events_of, file_events, file_quote, reverse
from estimator.archive.summary import Summary
from estimator.archive.verify import verify
from estimator.core.errors import InputError, OutputError
from tests.archive.filed import file_event

Make = Callable[..., Summary]
D = Decimal
DAY = dt.date(2026, 12, 1)
NUMBER = "2026-014"


@pytest.fixture
def root(tmp_path: Path, make_quote: Make, filed: dt.datetime) -> Path:
    """Return an archive of a quote of 5457.90 of 2026-11-20, an invoice of 1637.37, 1000.00 paid on it."""
    root = tmp_path / "a"
    file_quote(root, make_quote(), {}, filed)
    file_quote(root, make_quote(number="2026-9"), {}, filed)
    file_event(root, invoice("INV-1", "1637.37"), _paper(tmp_path, "INV-1.pdf"))
    file_event(root, paid("INV-1", "1000.00"))
    return root


def _paper(folder: Path, name: str) -> Path:
    path = folder / name
    path.write_bytes(f"%PDF made up: {name}".encode())
    return path


def invoice(reference: str, amount: str, day: dt.date = DAY, note: str = "") -> Event:
    """Return an invoice."""
    return Event(NUMBER, 0, "invoice", day, D(amount), reference, note=note)


def paid(reference: str, amount: str, day: dt.date = DAY) -> Event:
    """Return a payment."""
    return Event(NUMBER, 0, "paid", day, D(amount), reference)


def _account(root: Path) -> Account:
    return next(a for a in accounts(contents(root)) if a.number == NUMBER)


REFUSED = {
    "over quoted": (invoice("INV-2", "3820.54"), "3820.54 makes 5457.91 invoiced, and 5457.90 is quoted"),
    "over what is invoiced": (invoice("CR-1", "-1637.38"), "-1637.38 makes -0.01 invoiced"),
    "before the quote": (invoice("INV-2", "5.00", dt.date(2026, 11, 19)), "before its quote of 2026-11-20"),
    "over the invoice": (paid("inv-1", "637.38"), "637.38 makes 1637.38 paid, and 1637.37 is invoiced"),
    "over all invoices": (paid("", "637.38"), "637.38 makes 1637.38 paid, and 1637.37 is invoiced"),
    "more paid back than came": (paid("INV-1", "-1000.01"), "-1000.01 makes -0.01 paid"),
    "before the invoice": (paid("INV-1", "5.00", dt.date(2026, 11, 30)), "before the invoice of 2026-12-01"),
    "unknown invoice": (paid("INV-9", "5.00"), "no invoice INV-9 is filed beside 2026-014"),
}


@pytest.mark.parametrize(("event", "said"), REFUSED.values(), ids=REFUSED.keys())
def test_what_cannot_be_right_is_refused_and_files_nothing(root: Path, event: Event, said: str) -> None:
    before = list(events_of(Place(root), NUMBER))
    with pytest.raises(InputError) as refusal:
        file_event(root, event)
    assert any(said in p.what for p in refusal.value.problems)
    assert all("--force --note" in p.fix for p in refusal.value.problems)
    assert list(events_of(Place(root), NUMBER)) == before


@pytest.mark.parametrize(
    "event",
    [invoice("INV-2", "3820.53"), invoice("CR-1", "-1637.37"), paid("INV-1", "637.37"), paid("", "637.37"),
     paid("INV-1", "-1000.00"), invoice("INV-2", "5.00", dt.date(2026, 11, 20)), paid("INV-1", "5.00")],
    ids=str,
)  # fmt: skip
def test_what_just_fits_is_filed(root: Path, event: Event) -> None:
    assert file_event(root, event).against == ()


def test_it_is_filed_with_force_and_a_note_which_stay_with_it(root: Path) -> None:
    wrong = invoice("INV-2", "99999.00")
    with pytest.raises(InputError, match="nothing says why"):
        file_events(root, NUMBER, lambda _: [(wrong, None)], force=True)
    asked = invoice("INV-2", "99999.00", note="agreed on the telephone")
    [done] = file_events(root, NUMBER, lambda _: [(asked, None)], force=True).events
    [kept] = [e for e in events_of(Place(root), NUMBER) if e.sequence == done.sequence]
    assert kept.note == "agreed on the telephone"
    assert kept.against == ("99999.00 makes 101636.37 invoiced, and 5457.90 is quoted",)
    assert (
        file_events(root, NUMBER, lambda _: [(paid("INV-1", "1.00"), None)], force=True).events[0].against
        == ()
    )


def test_a_change_order_that_is_won_raises_what_may_be_invoiced(
    root: Path, make_quote: Make, filed: dt.datetime
) -> None:
    """Revision 1 has twice the price, 10915.80 with tax; it counts once it is won."""
    quote = make_quote()
    t = quote.totals
    twice = replace(t, **{f.name: 2 * getattr(t, f.name) for f in fields(t) if f.name != "margin"})
    double = replace(
        quote, revision=1, totals=twice,
        taxes=tuple(replace(t, base=2 * t.base, amount=2 * t.amount) for t in quote.taxes), payments=(),
    )  # fmt: skip
    won = Event(NUMBER, 0, "outcome", DAY, outcome="won")
    file_event(root, won, revision=0)
    file_quote(root, double, {}, filed)
    with pytest.raises(InputError, match=r"5457.90 is quoted. After a change order"):
        file_event(root, invoice("INV-2", "9000.00"))
    file_event(root, won, revision=1)
    assert file_event(root, invoice("INV-2", "9000.00")).against == ()


def test_a_file_is_filed_once_in_the_whole_archive(root: Path, tmp_path: Path) -> None:
    same = _paper(tmp_path, "INV-1.pdf").rename(tmp_path / "slip.pdf")
    slip = Event("2026-9", 0, "receipt", DAY, D(5), "R-1")
    with pytest.raises(InputError, match="its file is filed already: beside 2026-014 as paper 1"):
        file_event(root, slip, same)
    for paper in (2, 1):
        reverse(root, NUMBER, paper, DAY, "wrong amount")
    assert file_event(root, slip, same).file == "slip.pdf"


def test_all_that_speaks_against_several_is_told_at_once_and_each_counts_the_ones_before(root: Path) -> None:
    two = [
        (invoice("INV-2", "3000.00"), None),
        (invoice("INV-3", "1000.00"), None),
        (paid("X", "1.00"), None),
    ]
    with pytest.raises(InputError) as refusal:
        file_events(root, NUMBER, lambda _: two)
    assert [p.where for p in refusal.value.problems] == ["invoice INV-3", "paid X"]


def test_a_reversed_invoice_counts_nowhere_and_stays(root: Path) -> None:
    before = {p: p.read_bytes() for p in root.rglob("*") if p.is_file() and ".battenbook" not in p.parts}
    file_event(root, invoice("INV-2", "3820.53"))
    booked = _journal(root)
    [done] = reverse(root, NUMBER, 3, dt.date(2026, 12, 9), "sent to the wrong client").events
    assert (done.reverses, done.kind, done.amount, done.reference) == (3, "invoice", D("-3820.53"), "INV-2")
    assert done.note == "sent to the wrong client"
    assert all(p.read_bytes() == content for p, content in before.items())
    assert (root / "2026/Harbour Street Clinic/2026-014-r0/papers/0004-reversal-INV-2/record.json").is_file()
    account = _account(root)
    assert (account.invoiced, account.to_invoice, account.due) == (D("1637.37"), D("3820.53"), D("637.37"))
    lines = _journal(root)
    assert _by_account(lines) == {"1200": 637.37, "1000": 1000.0, "4000": -1449.0, "2300": -188.37}
    assert [n for n in lines if n["entry"] <= 3] == booked, "what was booked stays booked"
    assert {n["memo"].split(":")[0] for n in lines if n["entry"] == 4} == {"reversal of invoice INV-2"}
    with pytest.raises(InputError, match="invoice INV-2 is reversed"):
        exporting.exported(root, ExportWanted("invoice", NUMBER, reference="INV-2"))
    assert verify(root).problems == ()
    assert file_event(root, invoice("INV-2", "3820.53")).sequence == 5, "the number is free for the right one"


def test_an_invoice_that_was_paid_is_not_reversed_before_its_payments(root: Path) -> None:
    before = _account(root)
    with pytest.raises(InputError, match=r"is an invoice that was paid\. Reverse what was paid first: 2\."):
        reverse(root, NUMBER, 1, DAY, "wrong amount")
    assert _account(root) == before
    reverse(root, NUMBER, 2, DAY, "wrong job")
    reverse(root, NUMBER, 1, DAY, "wrong job")
    assert _account(root).paid == _account(root).invoiced == 0


def _journal(root: Path) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = json.loads(exporting.exported(root, ExportWanted("journal", form="json")))
    return found


def _by_account(lines: list[dict[str, Any]]) -> dict[str, float]:
    found: dict[str, float] = {}
    for line in lines:
        found[line["account"]] = round(found.get(line["account"], 0) + line["debit"] - line["credit"], 2)
    return found


def test_the_whole_quote_invoiced_and_reversed_is_undone_to_the_cent(root: Path) -> None:
    """5457.90 is booked as quoted; taken apart by rates it might differ by a cent, which would stay open."""
    reverse(root, NUMBER, 2, DAY, "wrong job")
    reverse(root, NUMBER, 1, DAY, "wrong job")
    file_event(root, invoice("INV-5", "5457.90"))
    reverse(root, NUMBER, 5, DAY, "wrong job")
    lines = _journal(root)
    assert set(_by_account(lines).values()) == {0.0}
    assert _account(root).invoiced == 0


def test_an_outcome_and_a_report_are_reversed_to_the_ones_before(root: Path) -> None:
    for outcome in ("won", "lost"):
        file_event(root, Event(NUMBER, 0, "outcome", DAY, outcome=outcome))
    assert _account(root).outcome == "lost"
    reverse(root, NUMBER, 4, DAY, "that was another job")
    assert _account(root).outcome == "won"
    reverse(root, NUMBER, 3, DAY, "not signed yet")
    assert _account(root).outcome == "open"


@pytest.mark.parametrize(
    ("entry", "said"),
    [(2, "is reversed already, by paper 3"), (3, "reverses another itself"), (9, "is not filed")],
)
def test_nothing_is_reversed_twice(root: Path, entry: int, said: str) -> None:
    reverse(root, NUMBER, 2, DAY, "wrong amount")
    with pytest.raises(InputError, match=said):
        reverse(root, NUMBER, entry, DAY, "again")
    with pytest.raises(InputError, match="nothing says why"):
        reverse(root, NUMBER, 1, DAY, " ")
    assert len(list(events_of(Place(root), NUMBER))) == 3
    assert [e.sequence for e in in_force(events_of(Place(root), NUMBER))] == [1]


def test_an_invoice_of_the_same_number_is_still_refused_with_exit_4(root: Path) -> None:
    with pytest.raises(OutputError, match="filed already"):
        file_event(root, invoice("inv-1", "1.00"))
