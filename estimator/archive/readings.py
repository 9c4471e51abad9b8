"""What one reading of a filed quote's folder found: every file's SHA-256, what refused, what is a folder.

A folder is read once: records are kept as they were hashed, so that what is judged is what was read.
"""

import hashlib
import os
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from estimator.archive import files
from estimator.archive.events import RECORD
from estimator.archive.manifest import MANIFEST
from estimator.core.errors import BattenbookError

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
