"""Where things are in an archive: years and clients for people, one private folder for the program.

::

    ARCHIVE/2026/Client/2026-014-r0/            a filed quote: manifest.json, summary.json, its files
    ARCHIVE/2026/Client/2026-014-r0/papers/     what came later: one folder each for invoice, payment, …
    ARCHIVE/.battenbook/ledger/                 one small file for each thing filed: where, and its SHA-256
    ARCHIVE/.battenbook/filing/                 drafts; one that a crash left is cleared by the next filing
    ARCHIVE/.battenbook/index.sqlite            made from the folders, can be deleted at any time
"""

import os
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Any

from estimator.archive import files, jsons
from estimator.archive.manifest import MANIFEST, PAPERS, stays_inside
from estimator.core.errors import ArchiveError, InputError, Problem

PRIVATE = ".battenbook"
RECORD = "record.json"
CONTENT = "content"
ENTRY = "entry.json"
YEAR = re.compile(r"\d{4}", re.ASCII)
QUOTE = re.compile(r".+-r\d+", re.ASCII | re.DOTALL)
PAPER = re.compile(r"(\d{4,})-.+", re.ASCII | re.DOTALL)


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing filed: path below the archive with '/', SHA-256 of its manifest or record."""

    path: str
    sha256: str


@dataclass(frozen=True, slots=True)
class Place:
    """An archive's folder and the paths inside it."""

    root: Path

    @property
    def private(self) -> Path:
        """Return the program's own folder."""
        return self.root / PRIVATE

    @property
    def ledger(self) -> Path:
        """Return the folder of ledger entries."""
        return self.private / "ledger"

    @property
    def filing(self) -> Path:
        """Return the folder of drafts."""
        return self.private / "filing"

    @property
    def lock(self) -> Path:
        """Return the lock file of writers."""
        return self.private / "lock"

    @property
    def index(self) -> Path:
        """Return the index."""
        return self.private / "index.sqlite"

    def relative(self, path: Path) -> str:
        """Return `path` below the archive, with '/'."""
        return path.relative_to(self.root).as_posix()


def existing(root: Path) -> Place:
    """Return the place of an archive that is there.

    Raises:
        ArchiveError: there is no such folder.
    """
    if not root.is_dir():
        fix = "Give its folder with --archive DIR; `battenbook archive add JOB` makes a new one."
        raise ArchiveError([Problem(str(root), "there is no archive here", fix)])
    return Place(root)


def folders(place: Place) -> Iterator[tuple[str, Path]]:
    """Yield the key and folder of each filed quote, as the folders say; links are not followed."""
    for year in _subfolders(place.root):
        if YEAR.fullmatch(year.name):
            for client in _subfolders(year):
                for quote in _subfolders(client):
                    if QUOTE.fullmatch(quote.name) and (quote / MANIFEST).is_file():
                        yield quote.name.casefold(), quote


def papers(quote: Path) -> Iterator[tuple[int, Path]]:
    """Yield the sequence number and folder of each paper filed beside a quote, in order."""
    for folder in _subfolders(quote / PAPERS):
        match = PAPER.fullmatch(folder.name)
        if match and (folder / RECORD).is_file():
            yield int(match[1]), folder


def _subfolders(folder: Path) -> list[Path]:
    try:
        with os.scandir(folder) as entries:
            names = sorted(e.name for e in entries if e.is_dir(follow_symlinks=False))
    except FileNotFoundError:
        return []
    return [folder / name for name in names if name != PRIVATE]


def keys(place: Place) -> set[str]:
    """Return the keys of all that the ledger says is filed."""
    return {*_names(place.ledger), *pending(place)}


def entries(place: Place) -> Iterator[tuple[str, Entry | InputError]]:
    """Yield each key of the ledger with its entry, or with the problem of an entry that cannot be read."""
    for key in sorted(_names(place.ledger)):
        try:
            yield key, read_entry(place.ledger / f"{key}.json")
        except InputError as error:
            yield key, error
    yield from pending(place).items()


def entry_of(place: Place, key: str) -> Entry | None:
    """Return the ledger's entry for `key`, None where there is none."""
    path = place.ledger / f"{key}.json"
    return read_entry(path) if path.is_file() else pending(place).get(key)


def pending(place: Place) -> dict[str, Entry]:
    """Return what was filed by a program that died before it wrote the ledger."""
    found = {}
    for draft in _subfolders(place.filing):
        if (draft / ENTRY).is_file() and not (draft / CONTENT).exists():
            found[draft.name] = read_entry(draft / ENTRY)
    return found


def _names(folder: Path) -> list[str]:
    try:
        with os.scandir(folder) as found:
            return [e.name.removesuffix(".json") for e in found if e.name.endswith(".json")]
    except FileNotFoundError:
        return []


def read_entry(path: Path) -> Entry:
    """Return the ledger entry at `path`.

    Raises:
        InputError: it cannot be read, or points outside the archive.
    """
    return jsons.load(files.read_bytes(path), str(path), _entry)


def _entry(body: Mapping[str, Any]) -> Entry:
    entry = Entry(jsons.text(body["path"]), jsons.text(body["sha256"]))
    if not stays_inside(entry.path):
        raise ValueError(f"{entry.path!r} is no path of this archive")
    return entry


def folder_of(place: Place, key: str) -> Path | None:
    """Return the folder of the filed quote `key`: where the ledger says, or else wherever it was moved."""
    entry = entry_of(place, key)
    if entry is not None and (place.root / PurePosixPath(entry.path) / MANIFEST).is_file():
        return place.root / PurePosixPath(entry.path)
    return next((folder for found, folder in folders(place) if found == key), None)
