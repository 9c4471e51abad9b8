"""Nothing is lost or half-written, whichever file operation the machine stops at or the disk refuses."""

import datetime as dt
import errno
import json
import os
import shutil
import stat
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from estimator.archive import index, summary
from estimator.archive.events import Event
from estimator.archive.ledger import Place, folders
from estimator.archive.store import events_of, file_events, file_quote
from estimator.archive.summary import Summary
from estimator.archive.verify import verify
from estimator.core.errors import ArchiveError, BattenbookError, OutputError
from tests.archive.filed import file_event

Make = Callable[..., Summary]
Sources = dict[str, Path]
REFUSABLE = (
    "open", "write", "fsync", "mkdir", "rename", "unlink", "rmdir", "read", "close", "ftruncate", "lseek",
)  # fmt: skip
OPERATIONS = ("open", "write", "fsync", "mkdir", "rename", "unlink", "rmdir", "read", "close", "scandir",
              "ftruncate")  # fmt: skip

# Runs in a process of its own: files a quote and an invoice over and over, each time killed one file
# operation later (os._exit, as a pulled plug would), and prints what each death left behind.
KILLER = """
import datetime, json, os, shutil, sys
from decimal import Decimal
from pathlib import Path
from estimator.archive import summary, filing
from estimator.archive.events import Event
from tests.archive.filed import file_event
from estimator.archive import ledger
from estimator.archive.ledger import Place, folders, papers
from estimator.archive.store import file_quote
from estimator.archive.verify import verify

base, operations = Path(sys.argv[1]), sys.argv[2].split(",")
quote = summary.from_json((base / "quote.json").read_text())
sources = {"job.toml": base / "desk/job.toml", "documents/quote.html": base / "desk/out/quote.html"}
when = datetime.datetime(2026, 12, 1)
invoice = Event("2026-014", 0, "invoice", when.date(), Decimal("1637.37"), "INV-1")

def work(root):
    file_quote(root, quote, sources, when)
    file_event(root, invoice, base / "desk/job.toml")

def child(root, nth):
    left = [nth]
    for name in operations:
        def counted(*args, _real=getattr(os, name), **more):
            left[0] -= 1
            if left[0] < 0:
                os._exit(9)
            return _real(*args, **more)
        setattr(os, name, counted)
    work(root)
    os._exit(0)

def state(root):
    place = Place(root)
    quotes = [f for _, f in folders(place)]
    return {
        "quotes": len(quotes),
        "papers": sum(len(list(papers(q))) for q in quotes),
        "problems": [str(p) for p in verify(root).problems] if root.is_dir() else [],
    }

for nth in range(2000):
    root = base / f"a{nth}"
    pid = os.fork()
    if pid == 0:
        child(root, nth)
    code = os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1])
    dead = state(root)
    if dead["quotes"] == 0:
        file_quote(root, quote, sources, when)
    if state(root)["papers"] == 0:
        file_event(root, invoice, base / "desk/job.toml")
    other = file_event(root, Event("2026-014", 0, "outcome", when.date(), outcome="won"))
    left = len(list((root / ".battenbook/filing").iterdir()))
    row = {"code": code, "dead": dead, "after": state(root), "left": left, "sequence": other.sequence,
           "keys": sorted(ledger.read(Place(root)).entries)}
    print(json.dumps(row), flush=True)
    shutil.rmtree(root)
    if code == 0:
        break
"""


def test_a_kill_at_any_file_operation_leaves_nothing_half_filed(
    quick_path: Path, make_quote: Make, sources: Sources
) -> None:
    (quick_path / "quote.json").write_text(summary.to_json(make_quote()))
    shutil.copytree(sources["job.toml"].parent, quick_path / "desk")
    command = [sys.executable, "-c", KILLER, str(quick_path), ",".join(OPERATIONS)]
    done = subprocess.run(command, capture_output=True, text=True, timeout=600, check=False)
    assert done.returncode == 0, done.stderr
    rows = [json.loads(line) for line in done.stdout.splitlines()]
    assert len(rows) > 60
    assert [r["code"] for r in rows] == [9] * (len(rows) - 1) + [0]
    for row in rows:
        assert row["dead"]["problems"] == []
        assert (row["dead"]["quotes"], row["dead"]["papers"]) in {(0, 0), (1, 0), (1, 1)}
        assert row["after"] == {"quotes": 1, "papers": 2, "problems": []}
        assert row["keys"] == ["2026-014-e0001", "2026-014-e0002", "2026-014-r0"]
        assert row["sequence"] == 2
        assert row["left"] == 0
    assert {(r["dead"]["quotes"], r["dead"]["papers"]) for r in rows} == {(0, 0), (1, 0), (1, 1)}


class _Refusing:
    """Lets file operations through until the given one, which fails as the disk would.

    It fails before anything is done, or `after` all of it is done: a disk far away may do what it was told
    and then fail to say so.
    """

    def __init__(self, patch: pytest.MonkeyPatch, nth: int, number: int, *, after: bool) -> None:
        self.left, self.hit, self.after = nth, "", after
        for name in REFUSABLE:
            patch.setattr(os, name, self.counted(name, getattr(os, name), number))

    def counted(self, name: str, real: Callable[..., Any], number: int) -> Callable[..., Any]:
        def call(*args: Any, **more: Any) -> Any:
            self.left -= 1
            if self.left >= 0 or self.hit:
                return real(*args, **more)
            self.hit = name
            done = real(*args, **more) if self.after else None
            if name == "open" and done is not None:
                os.close(done)
            raise OSError(number, os.strerror(number))

        return call


@pytest.mark.parametrize("after", [False, True], ids=["undone", "done"])
@pytest.mark.parametrize(
    "number", [errno.ENOSPC, errno.EIO, errno.EROFS], ids=["full", "broken", "read-only"]
)
def test_a_disk_that_refuses_once_at_any_operation_files_all_or_nothing_and_says_which(
    quick_path: Path, make_quote: Make, sources: Sources, filed: dt.datetime, number: int, *, after: bool
) -> None:
    outcomes, hits = set(), set()
    for nth in range(600):
        root = quick_path / f"a{nth}"
        root.mkdir()
        with pytest.MonkeyPatch.context() as patch:
            disk = _Refusing(patch, nth, number, after=after)
            said = _said(root, make_quote(), sources, filed)
        quotes = list(folders(Place(root)))
        outcomes.add((said[:8], len(quotes)))
        hits.add(disk.hit)
        assert said.startswith("refused") == (not quotes), (nth, disk.hit, said)
        assert not (quotes and "nothing was filed" in said), (nth, disk.hit, said)
        assert verify(root).problems == (), (nth, disk.hit)
        if not quotes:
            file_quote(root, make_quote(), sources, filed)
        file_quote(root, make_quote(revision=1), sources, filed)
        assert verify(root).quotes == 2
        assert verify(root).problems == ()
        assert list((root / ".battenbook/filing").iterdir()) == []
        shutil.rmtree(root)
        if not disk.hit:
            break
    assert outcomes >= {("refused ", 0), ("warned: ", 1), ("filed", 1)}
    assert hits == {"", *REFUSABLE}


def _said(root: Path, quote: Summary, sources: Sources, filed: dt.datetime) -> str:
    try:
        told = file_quote(root, quote, sources, filed).problems
    except OutputError as error:
        return f"refused {error}"
    return f"warned: {told[0]}" if told else "filed"


@pytest.mark.parametrize("after", [False, True], ids=["undone", "done"])
def test_what_is_said_of_papers_is_what_the_disk_holds(
    quick_path: Path, make_quote: Make, sources: Sources, filed: dt.datetime, *, after: bool
) -> None:
    """Two invoices at once: none is filed and the message says so, or one and it says that, or both."""
    pattern, day = quick_path / "pattern", filed.date()
    file_quote(pattern, make_quote(), sources, filed)
    two = [(Event("2026-014", 0, "invoice", day, Decimal(5), name), sources[paper])
           for name, paper in (("A", "job.toml"), ("B", "prices.csv"))]  # fmt: skip
    seen = set()
    for nth in range(600):
        root = quick_path / "a"
        shutil.copytree(pattern, root)
        with pytest.MonkeyPatch.context() as patch:
            disk = _Refusing(patch, nth, errno.EIO, after=after)
            try:
                done = file_events(root, "2026-014", lambda _: two)
                said = f"warned: {done.problems[0]}" if done.problems else "filed"
            except OutputError as error:
                said = f"refused {error}"
        held = [e.reference for e in events_of(Place(root), "2026-014")]
        seen.add((said[:8], len(held)))
        assert ("nothing was filed" in said) == (held == []), (nth, disk.hit, said)
        assert ("1 of 2 are filed" in said) == (held == ["A"]), (nth, disk.hit, said)
        assert verify(root).problems == (), (nth, disk.hit)
        file_event(root, Event("2026-014", 0, "outcome", day, outcome="won"))
        assert verify(root).problems == (), (nth, disk.hit)
        shutil.rmtree(root)
        if not disk.hit:
            break
    assert seen == {("refused ", 0), ("refused ", 1), ("warned: ", 2), ("filed", 2)}


def test_a_disk_that_stays_full_says_so_and_takes_nothing(
    tmp_path: Path, make_quote: Make, sources: Sources, filed: dt.datetime, monkeypatch: pytest.MonkeyPatch
) -> None:
    file_quote(tmp_path / "a", make_quote(number="2026-013"), {}, filed)

    def full(_handle: int, _content: object) -> int:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "write", full)
    with pytest.raises(OutputError, match=r"2026-014-r0/\S+: No space left.*Make room") as refusal:
        file_quote(tmp_path / "a", make_quote(), sources, filed)
    assert refusal.value.exit_code == 4
    assert [key for key, _ in folders(Place(tmp_path / "a"))] == ["2026-013-r0"]


# The superuser may write anywhere, so once all is imported the process becomes nobody.
READ_ONLY = """
import datetime, os, sys
from pathlib import Path
from estimator.archive import index, summary
from estimator.archive.index import accounts
from estimator.archive.store import file_quote
from estimator.archive.verify import verify
from estimator.core.errors import OutputError
root = Path(sys.argv[1])
if os.geteuid() == 0:
    os.setegid(65534)
    os.seteuid(65534)
print(len(accounts(index.contents(root))), verify(root).problems)
try:
    file_quote(root, summary.from_json(sys.stdin.read()), {}, datetime.datetime(2026, 1, 1))
except OutputError as error:
    print(error.exit_code, error.problems[0])
"""


@contextmanager
def _read_only(root: Path) -> Iterator[None]:
    places = [root, *root.rglob("*")]
    for path in places:
        path.chmod(0o555 if path.is_dir() else 0o444)
    try:
        yield
    finally:
        for path in places:
            path.chmod(0o755 if path.is_dir() else 0o644)


@pytest.mark.skipif(os.name == "nt", reason="rights are not kept this way there")
@pytest.mark.parametrize("with_private", [True, False])
def test_a_read_only_archive_is_read_and_refuses_to_file(
    make_quote: Make, filed: dt.datetime, tmp_path_factory: pytest.TempPathFactory, *, with_private: bool
) -> None:
    root = Path(tmp_path_factory.mktemp("shared")) / "a"
    for parent in root.parents:
        if parent.stat().st_uid == os.geteuid() and parent.name.startswith(("pytest-", "popen-", "shared")):
            parent.chmod(parent.stat().st_mode | stat.S_IXOTH | stat.S_IROTH)
    file_quote(root, make_quote(), {}, filed)
    if not with_private:
        shutil.rmtree(root / ".battenbook")
    with _read_only(root):
        done = subprocess.run(
            [sys.executable, "-c", READ_ONLY, str(root)], input=summary.to_json(make_quote(revision=1)),
            capture_output=True, text=True, check=False,
        )  # fmt: skip
    assert done.returncode == 0, done.stderr
    first, second = done.stdout.splitlines()
    assert first.startswith("1 ")
    assert second.startswith("4 ")
    assert "Permission denied" in second
    assert "right to be written" in second
    assert len(list(folders(Place(root)))) == 1


def test_what_a_crash_left_is_ignored_by_readers_and_cleared_by_the_next_filing(
    tmp_path: Path, make_quote: Make, filed: dt.datetime
) -> None:
    file_quote(tmp_path, make_quote(), {}, filed)
    left = tmp_path / ".battenbook/filing/2026-099-r0/content"
    left.mkdir(parents=True)
    (left / "manifest.json").write_text("{ half")
    assert verify(tmp_path).problems == ()
    assert len(index.contents(tmp_path).quotes) == 1
    file_quote(tmp_path, make_quote(revision=1), {}, filed)
    assert not left.parent.exists()


def test_without_its_ledger_an_archive_is_read_and_nothing_more_is_filed(
    tmp_path: Path, make_quote: Make, filed: dt.datetime
) -> None:
    file_quote(tmp_path, make_quote(), {}, filed)
    file_event(tmp_path, Event("2026-014", 0, "receipt", filed.date(), Decimal(5)))
    shutil.rmtree(tmp_path / ".battenbook")
    assert len(index.contents(tmp_path).events) == 1
    with pytest.raises(ArchiveError, match=r"ledger.txt: is missing.*archive rebuild"):
        file_quote(tmp_path, make_quote(revision=1), {}, filed)
    assert len(list(folders(Place(tmp_path)))) == 1


def test_the_disk_has_every_file_and_folder_before_the_one_rename(
    tmp_path: Path, make_quote: Make, sources: Sources, filed: dt.datetime, monkeypatch: pytest.MonkeyPatch
) -> None:
    names: dict[int, str] = {}
    done: list[tuple[str, str]] = []
    real_open, real_fsync, real_rename = os.open, os.fsync, os.rename

    def opened(path: Any, *args: Any, **more: Any) -> int:
        handle = real_open(path, *args, **more)
        names[handle] = Path(path).name
        return handle

    def synced(handle: int) -> None:
        done.append(("fsync", names[handle]))
        real_fsync(handle)

    def renamed(source: Path, target: Path) -> None:
        done.append(("rename", Path(target).name))
        real_rename(source, target)

    monkeypatch.setattr(os, "open", opened)
    monkeypatch.setattr(os, "fsync", synced)
    monkeypatch.setattr(os, "rename", renamed)
    file_quote(tmp_path / "a", make_quote(), sources, filed)
    place = done.index(("rename", "2026-014-r0"))
    before = {name for what, name in done[:place] if what == "fsync"}
    assert before >= {
        "summary.json", "manifest.json", "job.toml", "prices.csv", "quote.html", "documents", "content",
        "entry.txt", "2026", "a",
    }  # fmt: skip
    assert done[place + 1 :] == [
        ("fsync", "Harbour Street Clinic"), ("fsync", "ledger.txt"),
    ]  # fmt: skip


def test_events_filed_together_are_all_refused_or_the_disk_says_how_many_it_took(
    tmp_path: Path, make_quote: Make, filed: dt.datetime, monkeypatch: pytest.MonkeyPatch
) -> None:
    file_quote(tmp_path, make_quote(), {}, filed)
    one, two = (Event("2026-014", 0, "invoice", filed.date(), Decimal(5), name) for name in ("A", "B"))
    for second, paper in ((one, None), (two, tmp_path / "missing.pdf")):
        with pytest.raises(BattenbookError):
            file_events(tmp_path, "2026-014", lambda _, s=second, p=paper: [(one, None), (s, p)])  # type: ignore[misc]
    assert index.contents(tmp_path).events == ()
    real, seen = os.rename, list[str]()

    def full(source: Path, target: Path) -> None:
        seen.append(Path(target).name)
        if Path(target).name == "0002-invoice-B":
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        real(source, target)

    monkeypatch.setattr(os, "rename", full)
    with pytest.raises(OutputError, match=r"No space left.*1 of 2 are filed"):
        file_events(tmp_path, "2026-014", lambda _: [(one, None), (two, None)])
    assert "0002-invoice-B" in seen
    assert [e.kind for e in index.contents(tmp_path).events] == ["invoice"]
    assert verify(tmp_path).problems == ()
