"""The ledger seals every line of itself; what it did not know is not proved; a seal kept elsewhere holds."""

import datetime as dt
import hashlib
import shutil
import subprocess
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import pytest

from estimator.archive import ledger
from estimator.archive.events import Event
from estimator.archive.filing import acknowledge, rebuild
from estimator.archive.index import contents
from estimator.archive.ledger import Place, filed
from estimator.archive.store import file_quote
from estimator.archive.summary import Summary
from estimator.archive.verify import verify
from estimator.core.errors import ArchiveError
from tests.archive.filed import file_event

Make = Callable[..., Summary]
QUOTE = "2026/Harbour Street Clinic/2026-014-r0"
OTHER = "2026/Somebody Else/2026-015-r0"
INVOICE = f"{QUOTE}/papers/0001-invoice-INV-1"


@pytest.fixture
def root(tmp_path: Path, make_quote: Make, sources: dict[str, Path], filed: dt.datetime) -> Path:
    """Return an archive of two quotes, one with an invoice."""
    root = tmp_path / "a"
    file_quote(root, make_quote(), sources, filed)
    file_quote(root, make_quote(number="2026-015", client="Somebody Else"), sources, filed)
    file_event(root, Event("2026-014", 0, "invoice", filed.date(), Decimal("1637.37"), "INV-1"))
    return root


def _sealed(root: Path) -> str:
    return list(ledger.read(Place(root)).seals)[-1]


def _said(root: Path) -> list[tuple[str, str]]:
    return [(p.where, p.what.split(":")[0]) for p in verify(root).problems]


def _altered(root: Path) -> None:
    """Write another price into the job of a quote, and its SHA-256 into the manifest."""
    job, listed = root / QUOTE / "job.toml", root / QUOTE / "manifest.json"
    before = hashlib.sha256(job.read_bytes()).hexdigest()
    job.write_bytes(b"# another price\n")
    after = hashlib.sha256(job.read_bytes()).hexdigest()
    listed.write_text(listed.read_text().replace(before, after))


def test_sha256sum_reads_the_ledger_and_reckons_the_seal(root: Path) -> None:
    """As the page says it is done by hand, with the tools of the system."""
    done = subprocess.run(["sha256sum", "--quiet", "-c", ".battenbook/ledger.txt"], cwd=root, check=False)
    assert done.returncode == 0
    by_hand = "head -n -1 .battenbook/ledger.txt | sha256sum"
    told = subprocess.run(["sh", "-c", by_hand], cwd=root, check=True, capture_output=True, text=True).stdout
    assert told.split()[0] == _sealed(root)
    (root / INVOICE / "record.json").write_bytes(b"{}")
    assert subprocess.run(
        ["sha256sum", "--quiet", "-c", ".battenbook/ledger.txt"], cwd=root, check=False, capture_output=True
    ).returncode


def test_a_seal_holds_and_tells_how_much_came_since(root: Path, make_quote: Make, filed: dt.datetime) -> None:
    then = _sealed(root)
    assert (verify(root, seal=then.upper()).problems, verify(root, seal=then).since) == ((), 0)
    file_quote(root, make_quote(revision=1), {}, filed)
    file_event(root, Event("2026-014", 0, "outcome", filed.date(), outcome="won"))
    assert (verify(root, seal=then).problems, verify(root, seal=then).since) == ((), 2)
    assert _sealed(root) != then


def test_a_seal_does_not_hold_once_what_it_sealed_is_gone_with_its_line(root: Path) -> None:
    """Whoever takes a quote and its lines away, and seals what is left, leaves a whole archive."""
    then = _sealed(root)
    shutil.rmtree(root / OTHER)
    path = root / ".battenbook/ledger.txt"
    lines = [
        n
        for n in path.read_bytes().splitlines(keepends=True)
        if b"2026-015" not in n and ledger.SEAL not in n
    ]
    path.write_bytes(ledger.sealed(b"".join(lines)))
    assert verify(root).problems == ()
    [problem] = verify(root, seal=then).problems
    assert (problem.where, "no state of this archive" in problem.what) == (f"seal {then}", True)


def test_every_bit_of_the_ledger_that_is_turned_is_told(root: Path) -> None:
    path = root / ".battenbook/ledger.txt"
    whole = path.read_bytes()
    for at in range(len(whole)):
        path.write_bytes(whole[:at] + bytes([whole[at] ^ 1]) + whole[at + 1 :])
        assert ".battenbook/ledger.txt" in [p.where for p in verify(root).problems], at


@pytest.mark.parametrize(
    "change",
    [
        lambda lines: lines[:-1], lambda lines: lines[:-2], lambda lines: [*lines, lines[-2]],
        lambda lines: [*lines[:3], lines[5], *lines[4:5], lines[3], *lines[6:]],
        lambda lines: [*lines, b"# more\n"], lambda lines: lines[:3] + lines[5:],
    ],
    ids=["unsealed", "cut", "twice", "another order", "more", "a block less"],
)  # fmt: skip
def test_lines_moved_cut_or_added_are_told(root: Path, change: Callable[[list[bytes]], list[bytes]]) -> None:
    path = root / ".battenbook/ledger.txt"
    path.write_bytes(b"".join(change(path.read_bytes().splitlines(keepends=True))))
    assert verify(root).problems


def test_nothing_is_built_on_a_damaged_ledger(root: Path, make_quote: Make, filed: dt.datetime) -> None:
    path = root / ".battenbook/ledger.txt"
    damaged = path.read_bytes().replace(b"# seal", b"# Seal", 1)
    path.write_bytes(damaged)
    with pytest.raises(ArchiveError, match=r"ledger.txt: is damaged: line 5 does not seal"):
        file_quote(root, make_quote(revision=1), {}, filed)
    assert (path.read_bytes(), (root / QUOTE).with_name("2026-014-r1").exists()) == (damaged, False)


def test_what_was_altered_while_there_was_no_ledger_is_never_called_whole(root: Path) -> None:
    shutil.rmtree(root / ".battenbook")
    _altered(root)
    [problem] = verify(root).problems
    assert (problem.where, "is missing" in problem.what) == (".battenbook/ledger.txt", True)
    _, entered = rebuild(root)
    assert [e.folder for e in entered] == [QUOTE, INVOICE, OTHER]
    assert _said(root) == [(n, "is not proved") for n in (QUOTE, INVOICE, OTHER)]
    assert rebuild(root)[1] == ()
    assert len(_said(root)) == 3, "a second rebuild proves nothing either"


def test_a_word_is_kept_and_is_told_ever_after(root: Path) -> None:
    shutil.rmtree(root / ".battenbook")
    rebuild(root)
    then = _sealed(root)
    assert [e.folder for e in acknowledge(Place(root), "2026-014", "as on Friday's tape")] == [QUOTE, INVOICE]
    assert _said(root) == [(OTHER, "is not proved")]
    acknowledge(Place(root), "", "as on Friday's tape")
    verdict = verify(root, seal=then)
    assert (verdict.problems, verdict.since) == ((), 0)
    assert [p.where for p in verdict.words] == [QUOTE, INVOICE, OTHER]
    assert all("as on Friday's tape" in p.what for p in verdict.words)
    assert _sealed(root) != then, "the word is sealed as well"
    (root / QUOTE / "job.toml").write_text("# altered after the word")
    assert _said(root) == [(f"{QUOTE}/job.toml", "is damaged")]


def test_one_quote_copied_in_is_not_proved_and_the_others_are(root: Path) -> None:
    shutil.copytree(root / OTHER, root / "2026/Somebody Else/2026-015-r7")
    assert ("2026/Somebody Else/2026-015-r7", "was never filed by the program") in _said(root)
    rebuild(root)
    assert ("2026/Somebody Else/2026-015-r7", "is not proved") in _said(root)
    assert not any(where.startswith(QUOTE) for where, _ in _said(root))


def test_a_damaged_ledger_is_set_aside_and_what_its_seals_cover_stays_proved(root: Path) -> None:
    path = root / ".battenbook/ledger.txt"
    damaged = path.read_bytes().replace(b"2026-015-r0", b"2026-015-r1")
    path.write_bytes(damaged)
    assert _said(root)[0] == (".battenbook/ledger.txt", "is damaged")
    assert len(contents(root).quotes) == 2, "it is read all the same"
    rebuild(root)
    assert (root / ".battenbook/ledger-damaged-1.txt").read_bytes() == damaged
    assert _said(root) == [(INVOICE, "is not proved"), (OTHER, "is not proved")]


def test_a_new_archive_has_nothing_to_prove(tmp_path: Path, make_quote: Make, filed: dt.datetime) -> None:
    assert verify(tmp_path).problems == ()
    file_quote(tmp_path, make_quote(), {}, filed)
    assert verify(tmp_path).problems == ()
    assert set(ledger.read(Place(tmp_path)).entries) == set(dict(_keys(tmp_path)))


def _keys(root: Path) -> list[tuple[str, Path]]:
    return list(filed(Place(root)))
