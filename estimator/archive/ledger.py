"""The ledger: one text file that says what was filed, in that order, and that seals every line.

It is written in the form that ``sha256sum -c`` reads, from the archive's folder::

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
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import NamedTuple

from estimator.archive import files, jsons
from estimator.archive.events import RECORD
from estimator.archive.manifest import MANIFEST
from estimator.archive.place import CONTENT, Place, filed, subfolders
from estimator.core.errors import ArchiveError, InputError, Problem, refuse
from estimator.core.files import sync_folder

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


@dataclass(frozen=True, slots=True)
class _Older:
    """An entry as it was once written, a file each: folder and SHA-256 of its manifest or record."""

    path: str
    sha256: str


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
        held, tail = _parsed(
            files.read_bytes(place.ledger) if os.path.lexists(place.ledger) else _older(place)
        )
    except InputError as error:
        return Ledger(left, problem=f"is missing: {error.problems[0].what}")
    blocks = (sealed(held.sealed + line_of(e.file, e.sha256).encode()) for e in left.values())
    if tail and not any(block.startswith(held.sealed + tail) for block in blocks):
        held = replace(held, problem="is damaged: what stands behind its last seal was never sealed")
    return replace(held, entries={**left, **held.entries})


def _older(place: Place) -> bytes:
    """Return what the ledger of an older archive, a file for each entry, comes to.

    Raises:
        InputError: there is none, or it is damaged.
    """
    found = sorted(place.older.glob("*.json"))
    if not found:
        raise refuse(str(place.ledger), "there is no such file")
    lines = [HEAD]
    for path in found:
        entry = jsons.load(files.read_bytes(path), str(path), _Older)
        proof = MANIFEST if re.search(r"-r\d+$", path.stem) else RECORD
        lines.append(line_of(f"{entry.path}/{proof}", entry.sha256))
    return sealed("".join(lines).encode())


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


def start(place: Place, content: bytes) -> None:
    """Write a ledger where there is none. Only the archive's writer may do this."""
    draft = place.filing / place.ledger.name
    draft.unlink(missing_ok=True)
    files.write_new(draft, content)
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
