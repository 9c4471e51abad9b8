"""Proof that an archive is what was filed: every file read once, what is damaged, missing or extra named.

Files are read by a few threads, so that the disk and not the processor sets the pace; findings are put
together in order by one, so that the verdict does not depend on which came first.
"""

import hashlib
import os
import re
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path

from estimator.archive import events, files, ledger, manifest
from estimator.archive.events import RECORD
from estimator.archive.ledger import PAPER, PRIVATE, QUOTE, YEAR, Place, existing
from estimator.archive.manifest import MANIFEST, PAPERS, Manifest
from estimator.archive.names import event_key
from estimator.core.errors import BattenbookError, Problem

DESKTOP = frozenset({".ds_store", "thumbs.db", "desktop.ini", ".directory"})
KEPT = frozenset({MANIFEST, RECORD})


@dataclass(frozen=True, slots=True)
class Reading:
    """One folder as read; every name is below it, with '/'.

    Attributes:
        where: the folder, below the archive.
        digests: SHA-256 in hexadecimal and size in bytes of each file that could be read.
        kept: what manifest and records hold.
        refused: why a file could not be read.
        folders: the folders below.
    """

    where: str
    digests: dict[str, tuple[str, int]] = field(default_factory=dict)
    kept: dict[str, bytes] = field(default_factory=dict)
    refused: dict[str, str] = field(default_factory=dict)
    folders: set[str] = field(default_factory=set)

    @property
    def key(self) -> str:
        """Return the key of the quote whose folder it is."""
        return self.where.rpartition("/")[2].casefold()

    @property
    def names(self) -> list[str]:
        """Return the names of all files, in order."""
        return sorted((*self.digests, *self.refused))

    def inside(self, head: str) -> list[str]:
        """Return the names that stand directly in the folder `head`, which ends in '/'; in order."""
        every = (*self.digests, *self.refused, *self.folders)
        found = (n for n in every if n.startswith(head) and "/" not in n[len(head) :])
        return sorted(found)


def read_folder(folder: Path, where: str) -> Reading:
    """Return what reading every file of a folder found; links are told of, not followed.

    Args:
        folder: a quote's.
        where: the same, below the archive.
    """
    reading = Reading(where)
    for name, path, is_folder in _below(str(folder), ""):
        if is_folder:
            reading.folders.add(name)
            continue
        try:
            _read(reading, name, Path(path))
        except BattenbookError as error:
            reading.refused[name] = error.problems[0].what
        except OSError as error:
            reading.refused[name] = f"cannot be read: {error.strerror}"
    return reading


def _read(reading: Reading, name: str, path: Path) -> None:
    if path.name in KEPT:
        content = reading.kept[name] = files.read_bytes(path)
        reading.digests[name] = hashlib.sha256(content).hexdigest(), len(content)
    else:
        reading.digests[name] = files.digest(path)


def _below(folder: str, head: str) -> Iterator[tuple[str, str, bool]]:
    """Yield name, path, and whether it is a real folder, of all that stands below a folder."""
    for name, path, is_folder in listed(folder):
        yield head + name, path, is_folder
        if is_folder:
            yield from _below(path, f"{head}{name}/")


def listed(folder: str | Path) -> list[tuple[str, str, bool]]:
    """Return name, path, and whether it is a real folder, of what a folder holds; no desktop clutter."""
    with os.scandir(folder) as found:
        rows = [(e.name, e.path, e.is_dir(follow_symlinks=False)) for e in found]
    return sorted(row for row in rows if row[0].casefold() not in DESKTOP)


RESTORE = "Restore it from a backup."
REMOVE = "Move it out of the archive, or leave it and know that it was not filed."
PROVE = "Hold it against a backup; if it is right, `battenbook archive acknowledge {} --note WHY`."
DAMAGED = "is damaged: it is not what was filed"
EXTRA = "is extra: the program did not file it"
LINK = "is a symbolic link: an archive has real files and folders only"
OWN = re.compile(r"ledger(-damaged-\d+)?\.txt|lock|index\.json|\.battenbook-[0-9a-f]+\.(part|old)")
READERS = 2
Progress = Callable[[int, int], None]


@dataclass(frozen=True, slots=True)
class Verdict:
    """What was read and what was found.

    Attributes:
        problems: empty where the archive is whole.
        words: what is there on a person's word, which nothing proves.
        since: how many entries came after the seal that it was held against; None without one.
    """

    quotes: int
    papers: int
    files: int
    bytes: int
    problems: tuple[Problem, ...]
    words: tuple[Problem, ...] = ()
    since: int | None = None


class _Check:
    """One pass over an archive: what has been read so far."""

    def __init__(self, place: Place) -> None:
        self.place = place
        self.problems: list[Problem] = []
        self.held = ledger.read(place)
        self.entries = self.held.entries
        self.seen: dict[str, str] = {}
        self.quotes = self.papers = self.files = self.bytes = 0

    def tell(self, where: str, what: str, fix: str) -> None:
        self.problems.append(Problem(where, what, fix))

    def unknown(self, where: str) -> None:
        self.tell(where, LINK if (self.place.root / where).is_symlink() else EXTRA, REMOVE)

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
        entry = self.entries.get(key)
        if entry is None and not self.held.problem:
            self.tell(folder, "was never filed by the program", "`battenbook archive rebuild` takes it in.")
        elif entry is not None and entry.sha256:
            self.matches(reading, proof, entry.sha256)


def verify(root: Path, progress: Progress | None = None, seal: str = "") -> Verdict:
    """Return the verdict on every file of the archive at `root`.

    Args:
        root: the archive's folder.
        progress: told (quotes read, quotes in all) after each.
        seal: of an earlier state, kept elsewhere, that must be among those of the ledger; '' for none.

    Raises:
        ArchiveError: there is no archive.
    """
    check = _Check(existing(root))
    found = list(_quote_folders(check))
    _check_private(check, empty=not found)
    with ThreadPoolExecutor(READERS) as pool:
        where = map(check.place.relative, found)
        for done, reading in enumerate(pool.map(read_folder, found, where), 1):
            _check_quote(check, reading)
            if progress:
                progress(done, len(found))
    _check_ledger(check)
    since = _since(check, seal) if seal else None
    words = tuple(
        Problem(e.folder, f"is not proved, and was taken for good: {e.note}", "", severity="warning")
        for e in check.entries.values()
        if e.note
    )
    ordered = tuple(sorted(check.problems))
    return Verdict(check.quotes, check.papers, check.files, check.bytes, ordered, words, since)


def _since(check: _Check, seal: str) -> int | None:
    """Return how many entries came after a seal; tell of one that the ledger does not have."""
    then = check.held.seals.get(seal.strip().lower())
    if then is None:
        what = "is the seal of no state of this archive: what was sealed then is not what is here now"
        check.tell(f"seal {seal[:64]}", what, "Look at what else is told; hold the archive against a backup.")
        return None
    return len(check.entries) - then


def _check_private(check: _Check, *, empty: bool) -> None:
    """Tell of whatever is not the program's in its own folder, and of a ledger that proves nothing."""
    place = check.place
    if os.path.lexists(place.ledger) or not empty:
        check.problems += ledger.wrong(place, check.held)
    if place.private.is_dir():
        for name, path, is_folder in listed(place.private):
            link = Path(path).is_symlink()
            if link or not (name == place.filing.name if is_folder else OWN.fullmatch(name)):
                check.unknown(place.relative(Path(path)))
    for name, path, is_folder in listed(place.filing) if place.filing.is_dir() else []:
        if not is_folder and name != place.ledger.name:
            check.unknown(place.relative(Path(path)))


def _quote_folders(check: _Check) -> Iterator[Path]:
    """Yield every quote's folder; tell of whatever else stands among years, clients and quotes."""
    for year in _level(check, check.place.root, lambda name: bool(YEAR.fullmatch(name))):
        for client in _level(check, year, lambda _: True):
            yield from _level(check, client, lambda name: bool(QUOTE.fullmatch(name)))


def _level(check: _Check, folder: Path, fits: Callable[[str], bool]) -> Iterator[Path]:
    for name, _, is_folder in listed(folder):
        if is_folder and fits(name):
            yield folder / name
        elif name != PRIVATE or not is_folder:
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
        if key not in check.entries:
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
    for folder in reading.folders - {PAPERS}:
        if not any(name.startswith(f"{folder}/") for name in reading.names):
            check.unknown(f"{reading.where}/{folder}")


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
        check.tell(folder, f"is a paper of {event.number_key}", "Put it back where it was.")
    if event.file:
        check.matches(reading, f"{name}/{event.file}", event.sha256)
    for other in reading.names:
        if other.startswith(f"{name}/") and other not in {record, f"{name}/{event.file}"}:
            check.unknown(f"{reading.where}/{other}")


def _check_ledger(check: _Check) -> None:
    for key, entry in check.entries.items():
        where = check.seen.get(key)
        if where is None and entry.sha256:
            check.tell(entry.folder, "is missing: it was filed here", RESTORE)
        elif where not in {None, entry.folder} and entry.sha256:
            check.tell(str(where), f"was moved from {entry.folder}", "Move it back.")
        if not entry.proved:
            what = "is not proved: it was not in the ledger when `rebuild` found it"
            check.tell(entry.folder, what, PROVE.format(key[: key.rindex("-")]))
