"""Proof that an archive is what was filed: every file read, what is damaged, missing or extra named.

Files are read by a few threads, so that the disk and not the processor sets the pace; findings are put
together in order by one, so that the verdict does not depend on which came first.
"""

import contextlib
import os
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

from estimator.archive import events, files, manifest
from estimator.archive.manifest import MANIFEST, PAPERS, Manifest
from estimator.archive.names import event_key, number_key
from estimator.archive.place import PAPER, PRIVATE, QUOTE, RECORD, YEAR, Entry, Place, entries, existing
from estimator.core.errors import BattenbookError, Problem

DESKTOP = frozenset({".ds_store", "thumbs.db", "desktop.ini", ".directory"})
RESTORE = "Restore it from a backup."
REMOVE = "Move it out of the archive, or leave it and know that it was not filed."
READERS = 4
Progress = Callable[[int, int], None]
Digests = dict[Path, tuple[str, int]]


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
        self.digests: Digests = {}
        self.quotes = self.papers = self.files = self.bytes = 0

    def tell(self, path: Path, what: str, fix: str) -> None:
        self.problems.append(Problem(self.place.relative(path), what, fix))

    def matches(self, path: Path, sha256: str, what: str) -> bool:
        """Read a file whole; return whether it is the one of that SHA-256."""
        try:
            found, size = self.digests.get(path) or files.digest(path)
        except BattenbookError as error:
            self.tell(path, f"is missing: {error.problems[0].what}", RESTORE)
            return False
        except OSError as error:
            self.tell(path, f"cannot be read: {error.strerror}", RESTORE)
            return False
        self.files += 1
        self.bytes += size
        if found != sha256:
            self.tell(path, what, RESTORE)
        return found == sha256

    def proven(self, key: str, folder: Path, proof: str) -> None:
        """Compare a manifest or record with the ledger."""
        self.seen[key] = self.place.relative(folder)
        entry = self.ledger.get(key)
        if entry is None and key not in self.unreadable:
            self.tell(folder, "was never filed by the program", "`battenbook archive rebuild` takes it in.")
        elif entry is not None:
            self.matches(folder / proof, entry.sha256, "is damaged: it is not what was filed")


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
        for done, (folder, digests) in enumerate(zip(found, pool.map(_digests, found), strict=True), 1):
            check.digests = digests
            _check_quote(check, folder)
            if progress:
                progress(done, len(found))
    _check_ledger(check)
    ordered = tuple(sorted(check.problems))
    return Verdict(check.quotes, check.papers, check.files, check.bytes, ordered)


def _digests(folder: Path) -> Digests:
    """Return the digests of every file in a folder that can be read; the others are told of later."""
    found: Digests = {}
    for path, is_folder in _listing(folder):
        if is_folder:
            found |= _digests(path)
        else:
            with contextlib.suppress(OSError, BattenbookError):
                found[path] = files.digest(path)
    return found


def _read_ledger(check: _Check) -> None:
    for key, entry in entries(check.place):
        if isinstance(entry, Entry):
            check.ledger[key] = entry
        else:
            path = check.place.ledger / f"{key}.json"
            check.tell(
                path,
                f"is damaged: {entry.problems[0].what}",
                "Delete it and run `battenbook archive rebuild`.",
            )
            check.unreadable.add(key)


def _listing(folder: Path) -> list[tuple[Path, bool]]:
    """Return what a folder holds, each with whether it is a real folder; desktop clutter is left out."""
    with os.scandir(folder) as found:
        rows = [(Path(e.path), e.is_dir(follow_symlinks=False)) for e in found]
    return sorted(row for row in rows if row[0].name.casefold() not in DESKTOP)


def _quote_folders(check: _Check) -> Iterator[Path]:
    """Yield every quote's folder; tell of whatever else stands among years, clients and quotes."""
    for year in _level(check, check.place.root, lambda name: bool(YEAR.fullmatch(name))):
        for client in _level(check, year, lambda _: True):
            yield from _level(check, client, lambda name: bool(QUOTE.fullmatch(name)))


def _level(check: _Check, folder: Path, fits: Callable[[str], bool]) -> Iterator[Path]:
    for path, is_folder in _listing(folder):
        if is_folder and fits(path.name):
            yield path
        elif path.name != PRIVATE:
            check.tell(path, "is extra: the program did not file it", REMOVE)


def _check_quote(check: _Check, folder: Path) -> None:
    check.quotes += 1
    key = folder.name.casefold()
    check.proven(key, folder, MANIFEST)
    try:
        listed = manifest.from_json(
            files.read_bytes(folder / MANIFEST), check.place.relative(folder / MANIFEST)
        )
    except BattenbookError as error:
        if key not in check.ledger:
            check.problems.extend(error.problems)
        listed = None
    if listed is not None:
        _check_files(check, folder, listed)
    for path, is_folder in _listing(folder / PAPERS) if (folder / PAPERS).is_dir() else []:
        _check_paper(check, key.rpartition("-r")[0], path, is_folder=is_folder)


def _check_files(check: _Check, folder: Path, listed: Manifest) -> None:
    if listed.key != folder.name.casefold():
        check.tell(folder / MANIFEST, f"is the manifest of {listed.key}", RESTORE)
    names = {file.name for file in listed.files}
    for file in listed.files:
        check.matches(folder / file.name, file.sha256, "is damaged: it is not what was filed")
    for name in _all_files(folder):
        if name not in names and name != MANIFEST:
            check.tell(folder / name, "is extra: the program did not file it", REMOVE)


def _all_files(folder: Path, below: str = "") -> Iterator[str]:
    for path, is_folder in _listing(folder):
        if not is_folder:
            yield below + path.name
        elif below or path.name != PAPERS:
            yield from _all_files(path, f"{below}{path.name}/")


def _check_paper(check: _Check, number: str, folder: Path, *, is_folder: bool) -> None:
    match = PAPER.fullmatch(folder.name)
    if not (match and is_folder):
        check.tell(folder, "is extra: the program did not file it", REMOVE)
        return
    check.papers += 1
    check.proven(f"{number}-e{int(match[1]):04d}", folder, RECORD)
    names = {RECORD}
    try:
        event = events.from_json(files.read_bytes(folder / RECORD), check.place.relative(folder / RECORD))
    except BattenbookError as error:
        check.problems.extend(p for p in error.problems if p.what.startswith("cannot"))
        return
    if event_key(event.number, event.sequence) != f"{number}-e{int(match[1]):04d}":
        check.tell(folder, f"is a paper of {number_key(event.number)}", "Put it back where it was.")
    if event.file:
        names.add(event.file)
        check.matches(folder / event.file, event.sha256, "is damaged: it is not what was filed")
    for name in _all_files(folder):
        if name not in names:
            check.tell(folder / name, "is extra: the program did not file it", REMOVE)


def _check_ledger(check: _Check) -> None:
    for key, entry in check.ledger.items():
        where = check.seen.get(key)
        if where is None:
            check.problems.append(Problem(entry.path, "is missing: it was filed here", RESTORE))
        elif where != entry.path:
            check.problems.append(Problem(where, f"was moved from {entry.path}", "Move it back."))
