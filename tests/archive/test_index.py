"""The index is made from the folders, mends itself, and answers by client, year, outcome."""

import datetime as dt
import errno
import json
import os
import re
import shutil
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import pytest

from estimator.archive import index
from estimator.archive.events import Event, Spent
from estimator.archive.filing import rebuild
from estimator.archive.index import Account, accounts, contents, matching
from estimator.archive.store import file_quote
from estimator.archive.summary import Summary
from estimator.archive.verify import verify
from estimator.core.errors import InputError, OutputError
from tests.archive.filed import file_event

Make = Callable[..., Summary]
D = Decimal
DAY = dt.date(2026, 12, 1)


@pytest.fixture
def root(tmp_path: Path, make_quote: Make, filed: dt.datetime) -> Path:
    """Return an archive of a won job with two revisions, a lost one, and an open one."""
    root = tmp_path / "a"
    file_quote(root, make_quote(), {}, filed)
    file_quote(root, make_quote(revision=1), {}, filed)
    file_quote(root, make_quote(number="2026-9", client="Zoë Café"), {}, filed)
    file_quote(root, make_quote(number="2025-2", client="Zoë Café", date=dt.date(2025, 1, 3)), {}, filed)
    file_event(root, Event("2026-014", 0, "outcome", DAY, outcome="won"), revision=0)
    file_event(root, Event("2026-014", 0, "invoice", DAY, D("1637.37"), "INV-1"))
    file_event(root, Event("2026-014", 0, "paid", DAY, D("1000.00"), "INV-1"))
    spent = Spent(
        (("cut", D("6.5")), ("fit", D(10))), (("materials", D("1300.00")), ("labour", D("2081.00")))
    )
    file_event(root, Event("2026-014", 0, "actual", DAY, spent=spent))
    file_event(root, Event("2025-2", 0, "outcome", DAY, outcome="lost"))
    return root


def _by_number(root: Path) -> dict[str, Account]:
    return {a.number: a for a in accounts(contents(root))}


def test_an_account_shows_quoted_invoiced_paid_actual_and_open(root: Path) -> None:
    a = _by_number(root)["2026-014"]
    assert (a.outcome, a.revision, a.revisions) == ("won", 0, 2)
    assert a.quoted == D("5457.90")
    assert (a.invoiced, a.paid) == (D("1637.37"), D("1000.00"))
    assert a.to_invoice == D("3820.53")  # 5457.90 - 1637.37
    assert a.due == D("637.37")  # 1637.37 - 1000.00
    assert (a.actual_cost, a.actual_hours) == (D("3381.00"), D("16.5"))
    assert a.margin == D("0.25")
    assert a.margin_earned == D("0.3")  # (4830 - 3381) / 4830
    assert a.price_per_m2 == D("262.5")  # 4830 / 18.4


def test_what_is_not_known_is_not_made_up(root: Path) -> None:
    a = _by_number(root)["2026-9"]
    assert a.outcome == "open"
    assert a.actual_cost is None
    assert a.margin_earned is None
    assert a.invoiced == 0


def test_quotes_are_in_the_order_of_their_numbers(root: Path) -> None:
    assert list(_by_number(root)) == ["2025-2", "2026-9", "2026-014"]


@pytest.mark.parametrize(
    ("asked", "found"),
    [
        ({"client": "zoë"}, ["2025-2", "2026-9"]),
        ({"year": 2026}, ["2026-9", "2026-014"]),
        ({"outcome": "won"}, ["2026-014"]),
        ({"outcome": "open", "year": 2026}, ["2026-9"]),
        ({"text": "HARBOUR clinic"}, ["2026-014"]),
        ({"text": "nothing of the kind"}, []),
    ],
)
def test_find(root: Path, asked: dict[str, object], found: list[str]) -> None:
    assert [a.number for a in matching(accounts(contents(root)), **asked)] == found  # type: ignore[arg-type]


def test_the_last_word_counts_by_the_order_of_filing_not_by_date(root: Path) -> None:
    file_event(root, Event("2026-014", 0, "outcome", dt.date(1999, 1, 1), outcome="lost"))
    assert _by_number(root)["2026-014"].outcome == "lost"


def _without(kind: str) -> Callable[[Path], object]:
    return lambda p: p.write_text(
        json.dumps({**json.loads(p.read_text()), kind: {} if kind == "proofs" else []})
    )


HURTS: dict[str, Callable[[Path], object]] = {
    "missing": lambda p: p.unlink(),
    "empty": lambda p: p.write_bytes(b""),
    "text": lambda p: p.write_bytes(b"not an index at all" * 50),
    "cut": lambda p: p.write_bytes(p.read_bytes()[: p.stat().st_size // 2]),
    "holed": lambda p: p.write_bytes(p.read_bytes()[:500] + b"\xff" * (p.stat().st_size - 500)),
    "a link": lambda p: p.rename(p.with_name("lock")).parent.joinpath(p.name).symlink_to("ledger.txt"),
    "stale": _without("quotes"),
    "eventless": _without("events"),
    "ahead": lambda p: p.write_text(p.read_text().replace('"sequence":2', '"sequence":7')),
    "proofless": _without("proofs"),
    "old": lambda p: p.write_text('{"rows": []}'),
    "nonsense": lambda p: p.write_text(re.sub('"price":"[0-9.]+"', '"price":"many"', p.read_text())),
    "other proofs": lambda p: p.write_text(re.sub('-([er][0-9]+)":"[0-9a-f]+"', r'-\1":"0"', p.read_text())),
}


@pytest.mark.parametrize("hurt", HURTS.values(), ids=HURTS.keys())
def test_an_index_that_is_wrong_mends_itself(root: Path, hurt: Callable[[Path], object]) -> None:
    before = contents(root)
    hurt(root / ".battenbook/index.json")
    assert contents(root) == before
    assert contents(root) == before
    assert verify(root).problems == ()


def test_an_index_that_cannot_be_written_does_not_stop_a_reader(
    root: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = contents(root)
    (root / ".battenbook/index.json").unlink()

    def full(_path: Path, _content: bytes) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(index, "write_new", full)
    assert contents(root) == before


def test_rebuild_tells_its_progress_and_changes_no_figure(root: Path) -> None:
    told: list[tuple[int, int]] = []
    before = contents(root)
    assert rebuild(root, lambda done, of: told.append((done, of))) == (before, ())
    assert told[-1] == (9, 9)  # four revisions and five papers


def test_rebuild_finds_what_was_moved_by_hand(root: Path) -> None:
    (root / "2026/Harbour Street Clinic").rename(root / "2026/HSC")
    found, _ = rebuild(root)
    assert found.problems == ()
    assert {q.folder for q in found.quotes if q.number == "2026-014"} == {
        "2026/HSC/2026-014-r0",
        "2026/HSC/2026-014-r1",
    }
    assert file_event(root, Event("2026-014", 0, "paid", DAY, D(1), "INV-1")).sequence == 5
    assert contents(root).problems == ()


def test_a_deleted_folder_is_warned_of_when_listing(root: Path) -> None:
    shutil.rmtree(root / "2026/Zoë Café")
    found, _ = rebuild(root)
    assert [(p.where, p.severity) for p in found.problems] == [("2026/Zoë Café/2026-9-r0", "warning")]
    assert [p.where for p in verify(root).problems] == ["2026/Zoë Café/2026-9-r0"]


def test_a_damaged_record_is_warned_of_and_the_rest_is_listed(root: Path) -> None:
    (root / "2026/Zoë Café/2026-9-r0/summary.json").write_text("{")
    found = contents(root)
    assert len(found.quotes) == 3
    assert found.problems[0].severity == "warning"


def test_reading_writes_nothing_but_the_index(root: Path) -> None:
    def state() -> dict[str, int]:
        return {
            str(p): p.stat().st_mtime_ns for p in root.rglob("*") if p.is_file() and "index" not in p.name
        }

    before = state()
    contents(root)
    verify(root)
    assert state() == before


def test_an_invoice_of_one_number_is_filed_once(root: Path) -> None:
    with pytest.raises(OutputError, match="filed already"):
        file_event(root, Event("2026-014", 0, "invoice", DAY, D(1), "inv-1"))


def test_an_event_of_an_unknown_quote_is_refused(root: Path) -> None:
    with pytest.raises(InputError, match="not filed here"):
        file_event(root, Event("2026-777", 0, "paid", DAY, D(1)))


@pytest.mark.parametrize(
    "name", ["../../evil.pdf", "record.json", "CON.pdf", "a" * 200 + ".pdf", "x\u202efdp.exe"]
)
def test_a_paper_stays_in_its_folder_whatever_its_name(root: Path, tmp_path: Path, name: str) -> None:
    paper = tmp_path / "desk.pdf"
    paper.write_bytes(b"paper")
    named = tmp_path / "in" / name.rpartition("/")[2]
    named.parent.mkdir()
    shutil.copy(paper, named)
    event = file_event(root, Event("2026-9", 0, "receipt", DAY, D("5.00"), "../../R/1"), named)
    [filed] = [p for p in root.rglob("*") if p.is_file() and p.read_bytes() == b"paper"]
    assert filed.parent == root / "2026/Zoë Café/2026-9-r0/papers/0001-receipt-..-..-R-1"
    assert filed.name == event.file
    assert verify(root).problems == ()


def test_filing_in_the_past_is_still_filed_last(root: Path) -> None:
    first = file_event(root, Event("2026-9", 0, "receipt", DAY, D(1)))
    os.utime(root, (0, 0))
    second = file_event(root, Event("2026-9", 0, "receipt", dt.date(1980, 1, 1), D(2)))
    assert (first.sequence, second.sequence) == (1, 2)
    assert index.contents(root).problems == ()
