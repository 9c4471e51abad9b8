"""How long an archive of many quotes takes to list, search, rebuild and verify. Run by hand, not a test.

    python tests/benchmarks/archive_size.py [QUOTES] [WORKBOOK_BYTES]

The archive is made without waiting for the disk (fsync) and without listing the ledger at each filing, so
that making it does not take an hour; filing is then timed on one quote and one paper with both. 'Cold'
empties the file cache first where that is allowed.
"""

import datetime as dt
import random
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from unittest.mock import patch

from estimator.archive import invoices, store
from estimator.archive.account import accounts, matching
from estimator.archive.events import Event
from estimator.archive.index import contents, rebuild
from estimator.archive.invoices import file_event
from estimator.archive.names import event_key, revision_key
from estimator.archive.store import file_quote
from estimator.archive.summary import QuoteLine, Summary, TaxLine, Totals
from estimator.archive.verify import verify

D = Decimal
FILED = dt.datetime(2026, 1, 1, tzinfo=dt.UTC)
CLIENTS = 700
WORKBOOK_BYTES = 120_000


def made_up(number: int) -> Summary:
    """Return an invented quote."""
    price = D(1000 + number % 9000)
    cost, tax = price * D("0.75"), (price * D("0.13")).quantize(D("0.01"))
    totals = Totals(cost, D(0), D(0), D(0), D(0), cost, price - cost, D("0.25"), price, price + tax)
    taxes = (TaxLine("HST", D(13), price, tax),)
    lines = tuple(QuoteLine("Wall", f"Panel {i}", D(1), "each", price / 10) for i in range(10))
    year = 2015 + number % 12
    return Summary(
        f"{year}-{number:05d}", 0, f"Client {number % CLIENTS}", f"Job {number}", f"{number} Example Road",
        dt.date(year, 1 + number % 12, 1), "CAD", totals, taxes, (), D(20), D(2), lines, "0.1.0",
    )  # fmt: skip


def fill(root: Path, desk: Path, many: int, workbook_bytes: int) -> None:
    """File `many` quotes, two papers beside each, without waiting for the disk."""
    chance = random.Random(1)  # noqa: S311 - filler
    names = {"job.toml": "job.toml", "quote.xlsx": "quote.xlsx", "documents/quote.html": "q.html"}
    sources = {name: desk / file for name, file in names.items()}
    (desk / "job.toml").write_bytes(chance.randbytes(3000))
    (desk / "quote.xlsx").write_bytes(chance.randbytes(workbook_bytes))
    (desk / "q.html").write_bytes(chance.randbytes(40_000))
    known: set[str] = set()
    with patch.object(store, "keys", lambda _: known), patch.object(invoices, "keys", lambda _: known):
        for number in range(many):
            quote = made_up(number)
            known.clear()
            file_quote(root, quote, sources, FILED)
            known.add(revision_key(quote.number, 0))
            file_event(root, Event(quote.number, 0, "outcome", FILED.date(), outcome="won"))
            known.add(event_key(quote.number, 1))
            file_event(root, Event(quote.number, 0, "invoice", FILED.date(), D(100), "1"), desk / "job.toml")


def cold() -> str:
    """Empty the file cache where that is allowed; return what the figure then is."""
    try:
        subprocess.run(["sync"], check=True)
        Path("/proc/sys/vm/drop_caches").write_text("3")
    except (OSError, subprocess.CalledProcessError):
        return "warm"
    return "cold"


def say(text: str) -> None:
    """Print one line at once."""
    sys.stdout.write(f"{text}\n")
    sys.stdout.flush()


def timed(label: str, work: Callable[[], object]) -> None:
    """Do `work` and print how long it took, and how much of that the processor was at it."""
    begin, busy = time.perf_counter(), time.process_time()
    work()
    took, cpu = time.perf_counter() - begin, time.process_time() - busy
    say(f"{label:<44} {took:8.3f} s   processor {cpu:.3f} s")


def paced(label: str, work: Callable[[], int]) -> None:
    """Do `work`, which returns bytes, and print how many it did a second."""
    begin = time.perf_counter()
    size = work() / 1e6
    took = time.perf_counter() - begin
    say(f"{label:<44} {took:8.3f} s   {size:.0f} MB, {size / took:.0f} MB/s")


def read_all(root: Path) -> int:
    """Read every file, one after the other, and return the bytes: what the disk gives without us."""
    return sum(len(p.read_bytes()) for p in root.rglob("*") if p.is_file())


def main() -> None:
    """Make the archive and print every figure."""
    many = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    size = int(sys.argv[2]) if len(sys.argv) > 2 else WORKBOOK_BYTES
    with tempfile.TemporaryDirectory() as folder:
        root, desk = Path(folder) / "archive", Path(folder)
        with patch("os.fsync"):
            timed(f"file {many} quotes and papers, no waiting", lambda: fill(root, desk, many, size))
        timed("file 1 quote, disk waited for", lambda: file_quote(root, made_up(many), {}, FILED))
        paid = Event(made_up(many).number, 0, "paid", FILED.date(), D(5))
        timed("file 1 payment, disk waited for", lambda: file_event(root, paid))
        timed("rebuild", lambda: rebuild(root))
        timed("list", lambda: accounts(contents(root)))
        timed("find", lambda: matching(accounts(contents(root)), "client 12", year=2020))
        start = "from estimator.cli.app import main; main()"
        whole = [sys.executable, "-c", start, "archive", "find", "Job 12", "--archive", str(root)]
        timed("find, the whole command", lambda: subprocess.run(whole, capture_output=True, check=True))
        state = cold()
        paced(f"read every file, {state}", lambda: read_all(root))
        state = cold()
        paced(f"verify, {state}", lambda: verify(root).bytes)
        paced("read every file, warm", lambda: read_all(root))
        paced("verify, warm", lambda: verify(root).bytes)


if __name__ == "__main__":
    main()
