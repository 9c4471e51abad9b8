"""Where things are in an archive; and the ledger: what was filed, in that order, with a seal on every line.

::

    ARCHIVE/2026/Client/2026-014-r0/            a filed quote: manifest.json, summary.json, its files
    ARCHIVE/2026/Client/2026-014-r0/papers/     what came later: one folder each for invoice, payment, …
    ARCHIVE/.battenbook/ledger.txt              one line for each thing filed: its SHA-256, and where it is
    ARCHIVE/.battenbook/filing/                 drafts; one that a crash left is cleared by the next filing
    ARCHIVE/.battenbook/index.json              made from the folders, can be deleted at any time

The ledger is written in the form that ``sha256sum -c`` reads, from the archive's folder::

    # What was filed, …
    # seal 5f0c…                                     SHA-256 of every byte above this line
    9b1e…  2026/Client/2026-014-r0/manifest.json
    # seal 81aa…

A manifest names the SHA-256 of each file of its quote, so the last seal stands for the whole archive. What
`rebuild` found and nobody proved is marked, and so is the word by which it was taken for good.
"""

import hashlib
import os
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import NamedTuple

from estimator.archive import files
from estimator.archive.events import RECORD
from estimator.archive.manifest import MANIFEST, PAPERS
from estimator.core.errors import ArchiveError, InputError, Problem
from estimator.core.files import sync_folder

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


HEAD = (
    "# What was filed, in that order. In the archive's folder, sha256sum -c .battenbook/ledger.txt holds it\n"
    "# against the disk. A seal is the SHA-256 of every byte above it.\n"
)
SEAL = b"# seal "
FOUND, WORD = "# not proved ", "# acknowledged "
ENTRY = "entry.txt"
NAME = r"(?!\.\.?/)[^/\\\0]+"
PROOF = rf"manifest\.json|papers/(\d{{4,}})-{NAME}/record\.json"
LINE = re.compile(rf"([0-9a-f]{{64}})  (\d{{4}}/{NAME}/({NAME})-r(\d+)/(?:{PROOF}))", re.ASCII)
AGAIN = (
    "Put it back from a backup; without one, `battenbook archive rebuild` enters what is there, not proved."
)


class Entry(NamedTuple):
    """One thing filed.

    Attributes:
        key: of the quote's revision or the paper, such as ``2026-014-r0`` or ``2026-014-e0003``.
        file: its manifest or record, below the archive with '/'.
        sha256: of that file.
        found: `rebuild` found it, and the ledger did not know it.
        note: the word by which it was taken for good all the same.
    """

    key: str
    file: str
    sha256: str
    found: bool = False
    note: str = ""

    @property
    def folder(self) -> str:
        """Return the folder of what was filed, below the archive."""
        return self.file.rpartition("/")[0]

    @property
    def proved(self) -> bool:
        """Return whether it was filed by the program, or taken for good by a person."""
        return not self.found or bool(self.note)


@dataclass(frozen=True, slots=True)
class Ledger:
    """A ledger as read.

    Attributes:
        entries: by key, in the order of filing; what a dead program left unwritten is at the end. One in
            a line that is not what was written has no SHA-256.
        seals: each seal, and how many entries stand above it.
        sealed: the bytes up to the last seal that holds.
        problem: what is wrong with the file, '' where nothing is.
    """

    entries: Mapping[str, Entry] = field(default_factory=dict)
    seals: Mapping[str, int] = field(default_factory=dict)
    sealed: bytes = b""
    problem: str = ""


def entry_of(line: str) -> Entry | None:
    """Return the entry that a line of the ledger is, None for any other line."""
    match = LINE.fullmatch(line)
    if match is None:
        return None
    sha256, file, number, revision, sequence = match.groups()
    tail = f"e{int(sequence):04d}" if sequence else f"r{int(revision)}"
    return Entry(f"{number}-{tail}".casefold(), file, sha256)


def line_of(file: str, sha256: str) -> str:
    """Return the line of what was filed: its manifest or record, and the SHA-256 of that."""
    return f"{sha256}  {file}\n"


def sealed(content: bytes) -> bytes:
    """Return the content with its seal behind it."""
    return content + SEAL + hashlib.sha256(content).hexdigest().encode() + b"\n"


def _parsed(content: bytes) -> tuple[Ledger, bytes]:
    """Return the ledger that a file holds, and what stands behind its last seal."""
    entries, seals, running = dict[str, Entry](), dict[str, int](), hashlib.sha256()
    block, problem, end, at = list[str](), "", 0, 0
    for number, raw in enumerate(content.splitlines(keepends=True), 1):
        at += len(raw)
        if raw.startswith(SEAL):
            whole = raw == SEAL + running.hexdigest().encode() + b"\n"
            _enter(entries, block, whole=whole or bool(problem))
            if whole and not problem:
                seals[running.hexdigest()], end = len(entries), at
            problem = problem or ("" if whole else f"is damaged: line {number} does not seal those above it")
            block = []
        else:
            block.append(raw[:-1].decode(errors="replace"))
        running.update(raw)
    return Ledger(entries, seals, content[:end], problem), b"" if problem else content[end:]


def _enter(entries: dict[str, Entry], block: Iterable[str], *, whole: bool) -> None:
    for line in block:
        if entry := entry_of(line):
            entries[entry.key] = entry if whole else entry._replace(sha256="")
        elif line.startswith((FOUND, WORD)):
            key, _, note = line.removeprefix(FOUND).removeprefix(WORD).partition(": ")
            if key in entries:
                entries[key] = entries[key]._replace(found=True, note=note)


def read(place: Place) -> Ledger:
    """Return the ledger of an archive; where it is missing or damaged, its problem says so."""
    left = pending(place)
    try:
        held, tail = _parsed(files.read_bytes(place.ledger))
    except InputError as error:
        return Ledger(left, problem=f"is missing: {error.problems[0].what}")
    blocks = (sealed(held.sealed + line_of(e.file, e.sha256).encode()) for e in left.values())
    if tail and not any(block.startswith(held.sealed + tail) for block in blocks):
        held = replace(held, problem="is damaged: what stands behind its last seal was never sealed")
    return replace(held, entries={**left, **held.entries})


def pending(place: Place) -> dict[str, Entry]:
    """Return what was filed by a program that died before it wrote the ledger."""
    drafts = (d for d in subfolders(place.filing) if (d / ENTRY).is_file() and not (d / CONTENT).exists())
    found = (entry_of(files.read_bytes(d / ENTRY).decode(errors="replace").rstrip("\n")) for d in drafts)
    return {entry.key: entry for entry in found if entry}


def folder_of(place: Place, entries: Mapping[str, Entry], key: str) -> Path | None:
    """Return the folder of what is filed as `key`: where the ledger says, or else wherever it was moved."""
    entry = entries.get(key)
    if entry is not None and (place.root / entry.file).is_file():
        return place.root / entry.folder
    return next((proof.parent for found, proof in filed(place) if found == key), None)


def start(place: Place, kept: bytes = b"") -> None:
    """Write a ledger where there is none, with what was `kept` of another. For the archive's writer only."""
    draft = place.filing / place.ledger.name
    draft.unlink(missing_ok=True)
    files.write_new(draft, kept or sealed(HEAD.encode()))
    files.rename_new(draft, place.ledger)
    sync_folder(place.private)


def append(place: Place, lines: str) -> None:
    """Write lines to the ledger and seal it; lines that it has are left alone. For the archive's writer only.

    Raises:
        ArchiveError: the ledger is damaged, and nothing may be built on it.
    """
    held = read(place)
    if held.problem:
        raise ArchiveError(wrong(place, held))
    if lines.encode() not in held.sealed:
        content = sealed(held.sealed + lines.encode())
        files.write_behind(place.ledger, len(held.sealed), content[len(held.sealed) :])


def wrong(place: Place, held: Ledger) -> list[Problem]:
    """Return what is wrong with a ledger that is missing or damaged, [] where nothing is."""
    return [Problem(place.relative(place.ledger), held.problem, AGAIN)] if held.problem else []
