"""How long an archive of many quotes takes to list, search, show, rebuild and verify, as its user types it.

Run ``python -m tests.benchmarks.archive_size [QUOTES]`` to see the figures, with ``--write`` to put them into
docs/validation/archive.md. One real job is filed by the command; every other quote gets a folder of its own
with copies of its files, its own record, manifest and ledger entry, and two papers, without waiting for the
disk. Every figure is of a process of its own, start-up and all. The floor of ``verify`` is a plain SHA-256 of
the same bytes, one file after the other.
"""

import datetime as dt
import os
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from decimal import Decimal
from pathlib import Path
from unittest.mock import patch

from estimator.archive import events, files, ledger, manifest, store, summary
from estimator.archive.events import RECORD, Event
from estimator.archive.ledger import Place
from estimator.archive.manifest import MANIFEST
from estimator.archive.summary import SUMMARY, Summary
from tests.benchmarks.page_part import DOCS, write_part
from tests.benchmarks.processes import PROGRAM

PAGE = DOCS / "validation" / "archive.md"
JOB = Path(__file__).parents[2] / "examples" / "rehearsal_room" / "job.toml"
FILED = dt.datetime(2026, 1, 1, tzinfo=dt.UTC)
CLIENTS = 700
MANY = 10_000
RUNS = 2
FLOOR = """
import hashlib, os, sys
for folder, _, names in os.walk(sys.argv[1]):
    for name in names:
        with open(os.path.join(folder, name), "rb", buffering=0) as stream:
            hashlib.file_digest(stream, "sha256")
"""


@dataclass(frozen=True, slots=True)
class Took:
    """What one process took, seconds: by the clock on the wall, and of the processors."""

    wall: float
    processor: float


def made_up(number: int, pattern: Summary) -> Summary:
    """Return an invented quote of the pattern's size and price."""
    year = 2015 + number % 12
    return replace(
        pattern, number=f"{year}-{number:05d}", revision=0, client=f"Client {number % CLIENTS}",
        title=f"Job {number}", site=f"{number} Example Road", date=dt.date(year, 1 + number % 12, 1),
    )  # fmt: skip


def copy_quote(place: Place, number: int, pattern: Path) -> None:
    """File a quote with copies of the pattern's files, and beside it its outcome and an invoice."""
    quote = made_up(number, summary.read_quote(pattern))
    folder = place.root / str(quote.date.year) / quote.client / f"{quote.number}-r0"
    shutil.copytree(pattern, folder, ignore=shutil.ignore_patterns(SUMMARY, MANIFEST))
    told = manifest.from_json((pattern / MANIFEST).read_bytes())
    record, size = files.write_new(folder / SUMMARY, summary.to_json(quote).encode())
    kept = [f for f in told.files if f.name != SUMMARY]
    listed = (*kept, manifest.FiledFile(SUMMARY, size, record))
    proof, _ = files.write_new(
        folder / MANIFEST, manifest.to_json(manifest.of(quote, listed, FILED)).encode()
    )
    enter(place, folder / MANIFEST, proof)
    day, paper = FILED.date(), next(f for f in kept if f.name.endswith("-quote.html"))
    won = Event(quote.number, 1, "outcome", day, outcome="won")
    invoice = Event(quote.number, 2, "invoice", day, quote.totals.total, "INV-1", file="invoice.html",
                    bytes=paper.bytes, sha256=paper.sha256)  # fmt: skip
    for event in (won, invoice):
        beside = folder / "papers" / f"{event.sequence:04d}-{event.kind}"
        beside.mkdir(parents=True)
        if event.file:
            shutil.copyfile(folder / paper.name, beside / event.file)
        proof, _ = files.write_new(beside / RECORD, events.to_json(event).encode())
        enter(place, beside / RECORD, proof)


def enter(place: Place, file: Path, sha256: str) -> None:
    """Enter what was filed into the ledger, which is sealed once all is."""
    with place.ledger.open("a", encoding="utf-8") as lines:
        lines.write(ledger.line_of(place.relative(file), sha256))


def say(text: str) -> None:
    """Print one line at once."""
    sys.stderr.write(f"{text}\n")
    sys.stderr.flush()


def took(*command: str) -> Took:
    """Return what a command took, itself and its children; it must end well."""
    before, began = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
    wall, after = time.perf_counter() - began, resource.getrusage(resource.RUSAGE_CHILDREN)
    return Took(wall, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)


def best(*command: str, runs: int = RUNS) -> Took:
    """Return the shortest times of several runs."""
    found = [took(*command) for _ in range(runs)]
    return Took(min(t.wall for t in found), min(t.processor for t in found))


@contextmanager
def filled(many: int) -> Iterator[Path]:
    """Make an archive of many quotes; it is gone when the block ends."""
    with tempfile.TemporaryDirectory() as name:
        root = Path(name) / "archive"
        say(f"filing one job, then {many} copies")
        subprocess.run([*PROGRAM, "archive", "add", str(JOB), "--archive", str(root)], check=True,
                       capture_output=True)  # fmt: skip
        place = Place(root)
        (pattern,) = (path.parent for path in root.rglob(MANIFEST))
        with patch("os.fsync"):
            for number in range(many):
                copy_quote(place, number, pattern)
        place.ledger.write_bytes(ledger.sealed(place.ledger.read_bytes()))
        say("measuring")
        yield root


def size_of(root: Path) -> tuple[int, int]:
    """Return how many files there are, and their bytes."""
    sizes = [os.path.getsize(Path(folder) / n) for folder, _, names in os.walk(root) for n in names]  # noqa: PTH202 - many
    return len(sizes), sum(sizes)


def measured(root: Path, many: int) -> dict[str, Took]:
    """Return what each verb took in an archive of so many quotes."""
    middle = made_up(many // 2, summary.read_quote(next(folder for _, folder in store.quotes(root))))

    def ask(*words: str, runs: int = RUNS) -> Took:
        say(" ".join(words))
        return best(*PROGRAM, "archive", *words, "--archive", str(root), runs=runs)

    found = {"`rebuild`": ask("rebuild", runs=1)}
    found |= {
        "`list`": ask("list"),
        "`list --all`": ask("list", "--all"),
        "`list --json`": ask("list", "--json"),
        f"`find '{middle.site}'`": ask("find", middle.site),
        "`find 'client 12' --year 2020`": ask("find", "client 12", "--year", "2020"),
        f"`show {middle.number}`": ask("show", middle.number),
        "`stats`": ask("stats"),
    }
    say("floor")
    found["plain SHA-256 of every file"] = best(sys.executable, "-c", FLOOR, str(root), runs=1)
    return found | {"`verify`": ask("verify", runs=1)}


def table(root: Path, found: dict[str, Took]) -> str:
    """Return the figures as Markdown."""
    many, size = size_of(root)
    quotes = sum(1 for _ in store.quotes(root))
    floor, ours = found["plain SHA-256 of every file"], found["`verify`"]
    rows = [f"| {name} | {t.wall:.2f} s | {t.processor:.2f} s |" for name, t in found.items()]
    share = f"{ours.wall / floor.wall:.2f} | {ours.processor / floor.processor:.2f}"
    rows.append(f"| `verify`, times the plain SHA-256 | {share} |")
    load = f"load average {os.getloadavg()[1]:.1f} on {os.cpu_count()} processors"
    held = f"{quotes:,} quotes with two papers each: {many:,} files, {Decimal(size) / 10**9:.1f} GB; {load}."
    head = f"{held}\n\n"
    return head + "\n".join(["| what | wall | processor |", "| --- | ---: | ---: |", *rows]) + "\n"


def main() -> None:
    """Make the archive; print the figures, or write them into the page."""
    numbers = [int(word) for word in sys.argv[1:] if word.isdigit()]
    many = numbers[0] if numbers else MANY
    with filled(many) as root:
        text = table(root, measured(root, many))
    if "--write" in sys.argv[1:]:
        write_part(PAGE, "sizes", text)
    else:
        sys.stdout.write(text)


if __name__ == "__main__":
    main()
