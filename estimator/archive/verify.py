"""Proof that an archive is what was filed: every file read, what is damaged, missing or extra named.

Files are read by a few threads, so that the disk and not the processor sets the pace; findings are put
together in order by one, so that the verdict does not depend on which came first.
"""

from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

from estimator.archive import events, manifest
from estimator.archive.manifest import MANIFEST, PAPERS, Manifest
from estimator.archive.names import event_key, number_key
from estimator.archive.place import PAPER, PRIVATE, QUOTE, RECORD, YEAR, Entry, Place, entries, existing
from estimator.archive.readings import Reading, listed, read_folder
from estimator.core.errors import BattenbookError, Problem

RESTORE = "Restore it from a backup."
REMOVE = "Move it out of the archive, or leave it and know that it was not filed."
DAMAGED = "is damaged: it is not what was filed"
EXTRA = "is extra: the program did not file it"
READERS = 2
Progress = Callable[[int, int], None]


@dataclass(frozen=True, slots=True)
class Verdict:
    """What was read and what was found: `problems` is empty where the archive is whole."""

    quotes: int
    papers: int
    files: int
    bytes: int
    problems: tuple[Problem, ...]


class _Check:
    """One pass over an archive: what has been read so far."""

    def __init__(self, place: Place) -> None:
        self.place = place
        self.problems: list[Problem] = []
        self.ledger: dict[str, Entry] = {}
        self.unreadable: set[str] = set()
        self.seen: dict[str, str] = {}
        self.quotes = self.papers = self.files = self.bytes = 0

    def tell(self, where: str, what: str, fix: str) -> None:
        self.problems.append(Problem(where, what, fix))

    def unknown(self, where: str) -> None:
        self.tell(where, EXTRA, REMOVE)

    def matches(self, reading: Reading, name: str, sha256: str) -> None:
        """Hold a file as read against its SHA-256."""
        if name not in reading.digests:
            why = reading.refused.get(name, "is missing: there is no such file")
            self.tell(f"{reading.where}/{name}", why, RESTORE)
            return
        found, size = reading.digests[name]
        self.files += 1
        self.bytes += size
        if found != sha256:
            self.tell(f"{reading.where}/{name}", DAMAGED, RESTORE)

    def proven(self, key: str, reading: Reading, proof: str) -> None:
        """Compare a manifest or record with the ledger."""
        folder = f"{reading.where}/{proof}".rpartition("/")[0]
        self.seen[key] = folder
        entry = self.ledger.get(key)
        if entry is None and key not in self.unreadable:
            self.tell(folder, "was never filed by the program", "`battenbook archive rebuild` takes it in.")
        elif entry is not None:
            self.matches(reading, proof, entry.sha256)


def verify(root: Path, progress: Progress | None = None) -> Verdict:
    """Return the verdict on every file of the archive at `root`.

    Args:
        root: the archive's folder.
        progress: told (quotes read, quotes in all) after each.

    Raises:
        ArchiveError: there is no archive.
    """
    check = _Check(existing(root))
    _read_ledger(check)
    found = list(_quote_folders(check))
    with ThreadPoolExecutor(READERS) as pool:
        where = map(check.place.relative, found)
        for done, reading in enumerate(pool.map(read_folder, found, where), 1):
            _check_quote(check, reading)
            if progress:
                progress(done, len(found))
    _check_ledger(check)
    ordered = tuple(sorted(check.problems))
    return Verdict(check.quotes, check.papers, check.files, check.bytes, ordered)


def _read_ledger(check: _Check) -> None:
    for key, entry in entries(check.place):
        if isinstance(entry, Entry):
            check.ledger[key] = entry
        else:
            path = check.place.relative(check.place.ledger / f"{key}.json")
            check.tell(
                path,
                f"is damaged: {entry.problems[0].what}",
                "Delete it and run `battenbook archive rebuild`.",
            )
            check.unreadable.add(key)


def _quote_folders(check: _Check) -> Iterator[Path]:
    """Yield every quote's folder; tell of whatever else stands among years, clients and quotes."""
    for year in _level(check, check.place.root, lambda name: bool(YEAR.fullmatch(name))):
        for client in _level(check, year, lambda _: True):
            yield from _level(check, client, lambda name: bool(QUOTE.fullmatch(name)))


def _level(check: _Check, folder: Path, fits: Callable[[str], bool]) -> Iterator[Path]:
    for name, _, is_folder in listed(folder):
        if is_folder and fits(name):
            yield folder / name
        elif name != PRIVATE:
            check.unknown(check.place.relative(folder / name))


def _check_quote(check: _Check, reading: Reading) -> None:
    check.quotes += 1
    key = reading.key
    check.proven(key, reading, MANIFEST)
    where = f"{reading.where}/{MANIFEST}"
    told: Manifest | None = None
    try:
        told = manifest.from_json(reading.kept.get(MANIFEST, b""), where)
    except BattenbookError as error:
        if key not in check.ledger:
            check.problems.extend(error.problems)
    if told is not None:
        _check_files(check, reading, told)
    papers = f"{PAPERS}/"
    for name in reading.inside(papers) if PAPERS in reading.folders else []:
        _check_paper(check, key.rpartition("-r")[0], reading, name)


def _check_files(check: _Check, reading: Reading, told: Manifest) -> None:
    if told.key != reading.key:
        check.tell(f"{reading.where}/{MANIFEST}", f"is the manifest of {told.key}", RESTORE)
    names = {MANIFEST, *(file.name for file in told.files)}
    for file in told.files:
        check.matches(reading, file.name, file.sha256)
    for name in reading.names:
        if name not in names and not name.startswith(f"{PAPERS}/"):
            check.unknown(f"{reading.where}/{name}")


def _check_paper(check: _Check, number: str, reading: Reading, name: str) -> None:
    folder = f"{reading.where}/{name}"
    match = PAPER.fullmatch(name.rpartition("/")[2])
    if not (match and name in reading.folders):
        check.unknown(folder)
        return
    check.papers += 1
    key, record = f"{number}-e{int(match[1]):04d}", f"{name}/{RECORD}"
    check.proven(key, reading, record)
    try:
        event = events.from_json(reading.kept.get(record, b""), f"{folder}/{RECORD}")
    except BattenbookError as error:
        check.problems.extend(p for p in error.problems if p.what.startswith("cannot"))
        return
    if event_key(event.number, event.sequence) != key:
        check.tell(folder, f"is a paper of {number_key(event.number)}", "Put it back where it was.")
    if event.file:
        check.matches(reading, f"{name}/{event.file}", event.sha256)
    for other in reading.names:
        if other.startswith(f"{name}/") and other not in {record, f"{name}/{event.file}"}:
            check.unknown(f"{reading.where}/{other}")


def _check_ledger(check: _Check) -> None:
    for key, entry in check.ledger.items():
        where = check.seen.get(key)
        if where is None:
            check.problems.append(Problem(entry.path, "is missing: it was filed here", RESTORE))
        elif where != entry.path:
            check.problems.append(Problem(where, f"was moved from {entry.path}", "Move it back."))
