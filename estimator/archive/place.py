"""Where things are in an archive: years and clients for people, one private folder for the program.

::

    ARCHIVE/2026/Client/2026-014-r0/            a filed quote: manifest.json, summary.json, its files
    ARCHIVE/2026/Client/2026-014-r0/papers/     what came later: one folder each for invoice, payment, …
    ARCHIVE/.battenbook/ledger.txt              one line for each thing filed: its SHA-256, and where it is
    ARCHIVE/.battenbook/filing/                 drafts; one that a crash left is cleared by the next filing
    ARCHIVE/.battenbook/index.json              made from the folders, can be deleted at any time
"""

import os
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from estimator.archive.events import RECORD
from estimator.archive.manifest import MANIFEST, PAPERS
from estimator.core.errors import ArchiveError, Problem

PRIVATE = ".battenbook"
CONTENT = "content"
YEAR = re.compile(r"\d{4}", re.ASCII)
QUOTE = re.compile(r".+-r\d+", re.ASCII | re.DOTALL)
PAPER = re.compile(r"(\d{4,})-.+", re.ASCII | re.DOTALL)


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
        """Return the ledger."""
        return self.private / "ledger.txt"

    @property
    def older(self) -> Path:
        """Return where each entry of the ledger was a file of its own, before there was `ledger.txt`."""
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
        return self.private / "index.json"

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
    for year in subfolders(place.root):
        if YEAR.fullmatch(year.name):
            for client in subfolders(year):
                for quote in subfolders(client):
                    if QUOTE.fullmatch(quote.name) and (quote / MANIFEST).is_file():
                        yield quote.name.casefold(), quote


def filed(place: Place) -> Iterator[tuple[str, Path]]:
    """Yield key and manifest or record of every quote and paper, as the folders say."""
    for key, quote in folders(place):
        yield key, quote / MANIFEST
        number = key.rpartition("-r")[0]
        for sequence, paper in papers(quote):
            yield f"{number}-e{sequence:04d}", paper / RECORD


def papers(quote: Path) -> Iterator[tuple[int, Path]]:
    """Yield the sequence number and folder of each paper filed beside a quote, in order."""
    for folder in subfolders(quote / PAPERS):
        match = PAPER.fullmatch(folder.name)
        if match and (folder / RECORD).is_file():
            yield int(match[1]), folder


def subfolders(folder: Path) -> list[Path]:
    """Return the real folders in a folder, in order; none where there is no such folder."""
    try:
        with os.scandir(folder) as entries:
            names = sorted(e.name for e in entries if e.is_dir(follow_symlinks=False))
    except FileNotFoundError:
        return []
    return [folder / name for name in names if name != PRIVATE]
