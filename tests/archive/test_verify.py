"""Verification names what is damaged, missing, extra or moved, and nothing else."""

import datetime as dt
import hashlib
import shutil
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import pytest

from estimator.archive import files
from estimator.archive.events import Event
from estimator.archive.store import file_quote
from estimator.archive.summary import Summary
from estimator.archive.verify import verify
from estimator.core.errors import ArchiveError
from tests.archive.filed import file_event

Make = Callable[..., Summary]
QUOTE = "2026/Harbour Street Clinic/2026-014-r0"
INVOICE = f"{QUOTE}/papers/0001-invoice-INV-1"


@pytest.fixture
def root(tmp_path: Path, make_quote: Make, sources: dict[str, Path], filed: dt.datetime) -> Path:
    """Return an archive of two quotes, one with an invoice and a payment."""
    root = tmp_path / "a"
    file_quote(root, make_quote(), sources, filed)
    file_quote(root, make_quote(number="2026-015", client="Somebody Else"), sources, filed)
    paper = tmp_path / "INV-1.pdf"
    paper.write_bytes(b"%PDF-1.4 made up")
    file_event(root, Event("2026-014", 0, "invoice", filed.date(), Decimal("1637.37"), "INV-1"), paper)
    file_event(root, Event("2026-014", 0, "paid", filed.date(), Decimal("1637.37"), "INV-1"))
    return root


def test_a_whole_archive_has_nothing_to_say(root: Path) -> None:
    verdict = verify(root)
    assert verdict.problems == ()
    assert (verdict.quotes, verdict.papers) == (2, 2)
    # each quote: manifest, summary, three files; the invoice: record and paper; the payment: record
    assert verdict.files == 2 * 5 + 2 + 1
    assert verdict.bytes == sum(p.stat().st_size for p in (root / "2026").rglob("*") if p.is_file())


def _said(root: Path) -> list[tuple[str, str]]:
    return [(p.where, p.what.split(":")[0]) for p in verify(root).problems]


EVERY_FILE = [
    f"{QUOTE}/manifest.json", f"{QUOTE}/summary.json", f"{QUOTE}/job.toml", f"{QUOTE}/documents/quote.html",
    f"{INVOICE}/record.json", f"{INVOICE}/INV-1.pdf", f"{QUOTE}/papers/0002-paid-INV-1/record.json",
]  # fmt: skip


@pytest.mark.parametrize("name", EVERY_FILE)
def test_one_flipped_bit_is_named(root: Path, name: str) -> None:
    content = bytearray((root / name).read_bytes())
    content[len(content) // 2] ^= 1
    (root / name).write_bytes(content)
    said = _said(root)
    assert (name, "is damaged") in said
    assert all(where == name for where, _ in said), said


@pytest.mark.parametrize("name", EVERY_FILE)
def test_a_deleted_file_is_named(root: Path, name: str) -> None:
    (root / name).unlink()
    said = _said(root)
    assert said
    assert any(where in {name, name.rpartition("/")[0]} and "missing" in what for where, what in said), said


@pytest.mark.parametrize("name", EVERY_FILE)
def test_a_truncated_file_is_named(root: Path, name: str) -> None:
    (root / name).write_bytes(b"")
    assert (name, "is damaged") in _said(root)


@pytest.mark.parametrize(
    "name",
    [
        "note.txt", "2026/note.txt", "2026/Harbour Street Clinic/note.txt", f"{QUOTE}/note.txt",
        f"{QUOTE}/documents/note.txt", f"{QUOTE}/papers/note.txt", f"{INVOICE}/note.txt",
        f"{QUOTE}/new/note.txt", ".battenbook/note.txt", ".battenbook/filing/note.txt",
        ".battenbook/ledger-damaged.txt",
    ],
)  # fmt: skip
def test_an_extra_file_is_named(root: Path, name: str) -> None:
    (root / name).parent.mkdir(exist_ok=True)
    (root / name).write_text("x")
    assert _said(root) == [(name, "is extra")]


def test_an_extra_link_is_named_and_not_followed(root: Path, tmp_path: Path) -> None:
    (root / QUOTE / "link").symlink_to(tmp_path)
    (root / "2027").symlink_to(tmp_path)
    assert _said(root) == [(f"{QUOTE}/link", "is a symbolic link"), ("2027", "is a symbolic link")]


def test_an_empty_folder_in_a_quote_is_named(root: Path) -> None:
    (root / QUOTE / "documents/more").mkdir()
    (root / ".battenbook/more").mkdir()
    assert _said(root) == [(".battenbook/more", "is extra"), (f"{QUOTE}/documents/more", "is extra")]


@pytest.mark.parametrize(
    "name",
    [
        "2026", "2026/Harbour Street Clinic", QUOTE, f"{QUOTE}/papers", INVOICE, f"{QUOTE}/documents",
        f"{QUOTE}/manifest.json", f"{INVOICE}/record.json", f"{INVOICE}/INV-1.pdf", ".battenbook",
        ".battenbook/ledger.txt", ".battenbook/filing", ".battenbook/lock",
    ],
)  # fmt: skip
def test_whatever_a_link_stands_in_for_is_named(root: Path, name: str) -> None:
    """Behind the link is the very thing, so that nothing but the link is wrong."""
    shutil.move(root / name, root.parent / "elsewhere")
    (root / name).symlink_to(root.parent / "elsewhere")
    assert name in [p.where for p in verify(root).problems if "symbolic link" in p.what]


def test_a_file_replaced_by_a_link_is_named(root: Path) -> None:
    job = root / QUOTE / "job.toml"
    twin = root.parent / "twin"
    shutil.move(job, twin)
    job.symlink_to(twin)
    assert f"{QUOTE}/job.toml" in [where for where, _ in _said(root)]


def test_a_deleted_quote_is_named_with_its_papers(root: Path) -> None:
    shutil.rmtree(root / QUOTE)
    assert _said(root) == [
        (QUOTE, "is missing"),
        (INVOICE, "is missing"),
        (f"{QUOTE}/papers/0002-paid-INV-1", "is missing"),
    ]


def test_a_moved_quote_is_named(root: Path) -> None:
    (root / "2026/Somebody Else").rename(root / "2026/Somebody")
    assert _said(root) == [("2026/Somebody/2026-015-r0", "was moved from 2026/Somebody Else/2026-015-r0")]


def test_a_copied_in_quote_is_named(root: Path) -> None:
    shutil.copytree(
        root / QUOTE, root / "2026/Somebody Else/2026-099-r0", ignore=shutil.ignore_patterns("papers")
    )
    said = _said(root)
    assert ("2026/Somebody Else/2026-099-r0", "was never filed by the program") in said
    assert ("2026/Somebody Else/2026-099-r0/manifest.json", "is the manifest of 2026-014-r0") in said


def test_a_changed_file_with_a_changed_manifest_is_still_named(root: Path) -> None:
    job, listed = root / QUOTE / "job.toml", root / QUOTE / "manifest.json"
    before = hashlib.sha256(job.read_bytes()).hexdigest()
    job.write_bytes(b"# another price\n")
    after = hashlib.sha256(job.read_bytes()).hexdigest()
    listed.write_text(listed.read_text().replace(before, after))
    assert _said(root) == [(f"{QUOTE}/manifest.json", "is damaged")]


def test_a_paper_moved_to_another_quote_is_named(root: Path) -> None:
    other = "2026/Somebody Else/2026-015-r0/papers/0001-invoice-INV-1"
    (root / other).parent.mkdir()
    (root / INVOICE).rename(root / other)
    said = _said(root)
    assert (other, "is a paper of 2026-014") in said
    assert (INVOICE, "is missing") in said


def test_a_file_the_disk_cannot_read_is_named(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    real = files.open_regular

    def broken(path: Path) -> int:
        if path.name == "prices.csv":
            raise OSError(5, "Input/output error")
        return real(path)

    monkeypatch.setattr(files, "open_regular", broken)
    assert {(where.rpartition("/")[2], what) for where, what in _said(root)} == {
        ("prices.csv", "cannot be read")
    }


def test_desktop_clutter_is_left_alone(root: Path) -> None:
    (root / "2026/.DS_Store").write_bytes(b"x")
    (root / QUOTE / "Thumbs.db").write_bytes(b"x")
    assert verify(root).problems == ()


def test_progress_is_told(root: Path) -> None:
    told: list[tuple[int, int]] = []
    verify(root, lambda done, of: told.append((done, of)))
    assert told == [(1, 2), (2, 2)]


def test_no_archive_is_no_whole_archive(tmp_path: Path) -> None:
    with pytest.raises(ArchiveError) as refusal:
        verify(tmp_path / "none")
    assert refusal.value.exit_code == 5
