"""Events filed together: killed at any operation, raced by others, on a disk that really refuses to write."""

import datetime as dt
import json
import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import pytest

from estimator.archive import summary
from estimator.archive.ledger import Place, folders
from estimator.archive.store import events_of, file_quote
from estimator.archive.summary import Summary
from estimator.archive.verify import verify

Make = Callable[..., Summary]
WANTED = [
    ("invoice", "INV-1", Decimal(300)),
    ("paid", "INV-1", Decimal(100)),
    ("invoice", "INV-2", Decimal(50)),
    ("actual", "", Decimal(0)),
]

# What the workbook of one job says: two invoices, one in part paid, and hours.
SAYS = """
import datetime, json, os, shutil, sys
from decimal import Decimal as D
from pathlib import Path
from estimator.archive.billed import Row, billed
from estimator.archive.events import Event, Spent
from estimator.archive.store import file_events
day = datetime.date(2026, 12, 9)
rows = [Row("invoice-1", "INV-1", day, D(300), D(100)), Row("invoice-2", "INV-2", day, D(50), None)]
def say(root):
    report = Event("2026-014", 0, "actual", day, spent=Spent((("cut", D(3)),)))
    file_events(root, "2026-014", lambda filed: [
        *((event, None) for event in billed(rows, filed, "2026-014", day)),
        *([] if any(e.kind == "actual" for e in filed) else [(report, None)])])
"""

# Files that over and over, each time killed one file operation later, and then once more as a person would.
KILLER = f"""{SAYS}
from estimator.archive.verify import verify
base = Path(sys.argv[1])
for nth in range(2000):
    root = base / f"a{{nth}}"
    shutil.copytree(base / "pattern", root)
    pid = os.fork()
    if pid == 0:
        left = [nth]
        for name in ("open", "write", "fsync", "mkdir", "rename", "unlink", "rmdir", "ftruncate"):
            def counted(*args, _real=getattr(os, name), **more):
                left[0] -= 1
                if left[0] < 0:
                    os._exit(9)
                return _real(*args, **more)
            setattr(os, name, counted)
        say(root)
        os._exit(0)
    code = os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1])
    dead = [str(p) for p in verify(root).problems]
    say(root)
    print(json.dumps([code, dead, [str(p) for p in verify(root).problems]]), flush=True)
    if code == 0:
        break
"""

# Files a quote whose workbook is larger than this process may write: the system itself cuts the write short.
TOO_LARGE = """
import datetime, resource, signal, sys
from pathlib import Path
from estimator.archive import summary
from estimator.archive.store import file_quote
from estimator.core.errors import OutputError
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
quote = summary.from_json(sys.stdin.read())
resource.setrlimit(resource.RLIMIT_FSIZE, (100_000, 100_000))
try:
    file_quote(Path(sys.argv[1]), quote, {"quote.xlsx": bytes(200_000)}, datetime.datetime(2026, 1, 1))
except OutputError as error:
    print(error.exit_code, error.problems[0])
"""


def filed_in(root: Path) -> list[tuple[str, str, Decimal]]:
    return [(e.kind, e.reference, e.amount) for e in events_of(Place(root), "2026-014")]


@pytest.mark.skipif(os.name == "nt", reason="there is no fork there")
def test_a_kill_among_events_filed_together_doubles_none_when_filed_again(
    quick_path: Path, make_quote: Make, filed: dt.datetime
) -> None:
    file_quote(quick_path / "pattern", make_quote(), {}, filed)
    command = [sys.executable, "-c", KILLER, str(quick_path)]
    done = subprocess.run(command, capture_output=True, text=True, timeout=600, check=False)
    assert done.returncode == 0, done.stderr
    rows = [json.loads(line) for line in done.stdout.splitlines()]
    assert len(rows) > 60
    assert [row[0] for row in rows] == [9] * (len(rows) - 1) + [0]
    assert all(dead == after == [] for _, dead, after in rows)
    for nth in range(len(rows)):
        assert filed_in(quick_path / f"a{nth}") == WANTED
        assert list((quick_path / f"a{nth}" / ".battenbook/filing").iterdir()) == []


def test_four_desks_that_file_one_workbook_at_once_file_it_once(
    tmp_path: Path, make_quote: Make, filed: dt.datetime
) -> None:
    root = tmp_path / "a"
    file_quote(root, make_quote(), {}, filed)
    command = [sys.executable, "-c", f"{SAYS}\nsay(Path(sys.argv[1]))", str(root)]
    desks = [subprocess.Popen(command) for _ in range(4)]
    assert [desk.wait(timeout=120) for desk in desks] == [0, 0, 0, 0]
    assert filed_in(root) == WANTED
    assert verify(root).problems == ()


@pytest.mark.skipif(os.name == "nt", reason="there is no such limit there")
def test_a_write_that_the_system_cuts_short_files_nothing(tmp_path: Path, make_quote: Make) -> None:
    root = tmp_path / "a"
    done = subprocess.run(
        [sys.executable, "-c", TOO_LARGE, str(root)], input=summary.to_json(make_quote()),
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.stdout.startswith("4 "), done.stderr
    assert "nothing was filed" in done.stdout
    assert list(folders(Place(root))) == []
    assert list((root / ".battenbook/filing").iterdir()) == []
    shutil.rmtree(root)
