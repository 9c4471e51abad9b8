"""Filing: a draft is written whole and waited for, then given its place by one rename.

What a crash leaves is either a draft, which the next filing clears, or a filed folder whose ledger
entry is still in the draft, which the next filing completes.
"""

import contextlib
import errno
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import asdict
from pathlib import Path

from estimator.archive import files, jsons
from estimator.archive.lock import locked
from estimator.archive.manifest import MANIFEST
from estimator.archive.place import CONTENT, ENTRY, RECORD, Entry, Place, folders, papers
from estimator.core.errors import OutputError, Problem
from estimator.core.files import stands, sync_folder, undisturbed

FIXES = {
    errno.ENOSPC: "Make room on the disk and file again; nothing was filed.",
    errno.EDQUOT: "Make room in your quota and file again; nothing was filed.",
    errno.EROFS: "Give the archive's folder the right to be written, then file again.",
    errno.EACCES: "Give the archive's folder the right to be written, then file again.",
    errno.EPERM: "Give the archive's folder the right to be written, then file again.",
    errno.EEXIST: "What is filed stays; file it under another number or revision.",
}
OTHERWISE = "Check the disk, then file again; nothing was filed."


@contextmanager
def writing(place: Place) -> Iterator[None]:
    """Be the archive's only writer for the length of a ``with`` block; first clear what a crash left.

    Raises:
        OutputError: the archive cannot be written to.
    """
    try:
        files.make_folder(place.root.absolute())
        known = place.ledger.is_dir()
        for folder in (place.private, place.ledger, place.filing):
            files.make_folder(folder)
        with locked(place.lock):
            recover(place)
            if not known:
                adopt(place)
            yield
    except OSError as error:
        raise refused(place, error) from error


def refused(place: Place, error: OSError) -> OutputError:
    """Return the refusal that says what the system would not do, and what would help."""
    where = str(error.filename2 or error.filename or place.root)
    what = error.strerror or str(error)
    return OutputError([Problem(where, what, FIXES.get(error.errno or 0, OTHERWISE))])


def recover(place: Place) -> None:
    """Complete or clear every draft that a dead program left. Only the archive's writer may do this."""
    for draft in sorted(place.filing.iterdir()):
        _settle(place, draft)


def _settle(place: Place, draft: Path) -> None:
    entry = place.ledger / f"{draft.name}.json"
    if (draft / ENTRY).is_file() and not (draft / CONTENT).exists() and not entry.exists():
        files.rename_new(draft / ENTRY, entry)
        sync_folder(place.ledger)
    if draft.is_dir() and not draft.is_symlink():
        files.remove_tree(draft)
    else:
        draft.unlink()


@undisturbed()
def file_new(place: Place, key: str, target: Path, write: Callable[[Path], str]) -> None:
    """File a new folder whole or not at all. The caller is the archive's writer.

    Args:
        place: the archive.
        key: its name in the ledger.
        target: the folder's place.
        write: fills the empty folder it is given and returns the SHA-256 of its manifest or record.

    Raises:
        OutputError: the place is taken, or it was filed but the ledger could not be written.
        OSError: the disk refused; nothing was filed.
    """
    draft = place.filing / key
    try:
        files.real_folders(place.root, target)
        files.make_folder(draft / CONTENT)
        sha256 = write(draft / CONTENT)
        files.write_new(draft / ENTRY, jsons.dump(asdict(Entry(place.relative(target), sha256))).encode())
        sync_folder(draft)
        files.make_folder(target.parent)
        files.rename_new(draft / CONTENT, target)
        stands(target)
    except BaseException as error:
        with contextlib.suppress(OSError):
            _settle(place, draft)
        if isinstance(error, OSError) and error.filename:
            error.filename = str(error.filename).replace(str(draft / CONTENT), str(target))
        raise
    _enter(place, draft, target)


def _enter(place: Place, draft: Path, target: Path) -> None:
    """Move the ledger entry of a filed folder from its draft to the ledger."""
    try:
        sync_folder(target.parent)
        files.rename_new(draft / ENTRY, place.ledger / f"{draft.name}.json")
        sync_folder(place.ledger)
        files.remove_tree(draft)
    except OSError as error:
        what = f"is filed and whole, but the disk then refused: {error.strerror or error}"
        fix = "Do not file it again; the next filing completes the ledger."
        raise OutputError([Problem(str(target), what, fix)]) from error


def adopt(place: Place) -> None:
    """Enter into the ledger every filed folder that is not in it. The caller is the archive's writer."""
    for key, folder in folders(place):
        _adopt(place, key, folder, MANIFEST)
        number = key.rpartition("-r")[0]
        for sequence, paper in papers(folder):
            _adopt(place, f"{number}-e{sequence:04d}", paper, RECORD)


def _adopt(place: Place, key: str, folder: Path, proof: str) -> None:
    path = place.ledger / f"{key}.json"
    if not path.exists():
        entry = Entry(place.relative(folder), files.digest(folder / proof)[0])
        draft = place.filing / f"{key}.json"
        files.write_new(draft, jsons.dump(asdict(entry)).encode())
        files.rename_new(draft, path)
        sync_folder(place.ledger)
