"""Filing: a draft is written whole and waited for, then given its place by one rename.

What a crash leaves is either a draft, which the next filing clears, or a filed folder whose ledger
entry is still in the draft, which the next filing completes.
"""

import contextlib
import errno
import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from filelock import FileLock, Timeout

from estimator.archive import files, ledger
from estimator.archive.index import FiledContents, Progress, contents
from estimator.archive.ledger import CONTENT, ENTRY, Entry, Ledger, Place, existing, filed
from estimator.core.errors import ArchiveError, OutputError, Problem
from estimator.core.files import stands, sync_folder, undisturbed

PATIENCE_S = 30.0
FOR_ALL = 0o666


@contextmanager
def locked(path: Path, patience_s: float = PATIENCE_S) -> Iterator[None]:
    """Hold the lock file at `path` for the length of a ``with`` block.

    Args:
        path: the lock file; made where missing, never removed (its removal would let two in).
        patience_s: how long to wait for another writer, in seconds.

    Raises:
        OutputError: another writer held it for longer than that.
        OSError: it cannot be made or opened for writing.
    """
    lock = FileLock(path, patience_s, mode=FOR_ALL, poll_interval=0.02)
    try:
        lock.acquire()
    except Timeout:
        what = "another program has been writing to this archive all the while"
        fix = "Wait until it has finished, or close it, and file again."
        raise OutputError([Problem(str(path.parent.parent), what, fix)]) from None
    try:
        yield
    finally:
        # What was done under it is done: a disk that refuses here changes nothing of it.
        with contextlib.suppress(OSError):
            lock.release()


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
def writing(place: Place) -> Iterator[Ledger]:
    """Be the archive's only writer for the length of a ``with`` block; first clear what a crash left.

    Yields:
        The ledger.

    Raises:
        OutputError: the archive cannot be written to.
        ArchiveError: its ledger is missing or damaged.
    """
    with _alone(place):
        if not place.ledger.is_file() and next(filed(place), None) is None:
            ledger.start(place)
        held = ledger.read(place)
        if held.problem:
            raise ArchiveError(ledger.wrong(place, held))
        recover(place)
        yield held


@contextmanager
def _alone(place: Place) -> Iterator[None]:
    """Hold the lock; say what the system would not do, and what would help."""
    try:
        for folder in (place.root.absolute(), place.private, place.filing):
            files.make_folder(folder)
        with locked(place.lock):
            yield
    except OSError as error:
        where = str(error.filename2 or error.filename or place.root)
        what = error.strerror or str(error)
        raise OutputError([Problem(where, what, FIXES.get(error.errno or 0, OTHERWISE))]) from error


def recover(place: Place) -> None:
    """Complete or clear every draft that a dead program left. Only the archive's writer may do this."""
    for draft in sorted(place.filing.iterdir()):
        _settle(place, draft)


def _settle(place: Place, draft: Path) -> None:
    """Enter into the ledger what the draft's content became; then clear the draft."""
    if (draft / ENTRY).is_file() and not (draft / CONTENT).exists():
        ledger.append(place, (draft / ENTRY).read_text(encoding="utf-8"))
    if draft.is_dir() and not draft.is_symlink():
        files.remove_tree(draft)
    else:
        draft.unlink()


@undisturbed()
def file_new(
    place: Place, key: str, target: Path, proof: str, write: Callable[[Path], str]
) -> tuple[Problem, ...]:
    """File a new folder whole or not at all. The caller is the archive's writer.

    Args:
        place: the archive.
        key: its name in the ledger.
        target: the folder's place.
        proof: the name of its manifest or record.
        write: fills the empty folder it is given and returns the SHA-256 of its manifest or record.

    Returns:
        A warning where the disk refused something after the folder was filed.

    Raises:
        OutputError: the place is taken.
        OSError: the disk refused; nothing was filed.
    """
    draft = place.filing / key
    try:
        files.real_folders(place.root, target)
        files.make_folder(draft / CONTENT)
        sha256 = write(draft / CONTENT)
        entry = ledger.line_of(place.relative(target / proof), sha256)
        files.write_new(draft / ENTRY, entry.encode())
        sync_folder(draft)
        files.make_folder(target.parent)
        files.rename_new(draft / CONTENT, target)
    except BaseException as error:
        # The disk may refuse to say yes to what it has done: what stands there decides, not the answer.
        done = (draft / ENTRY).exists() and not (draft / CONTENT).exists()
        with contextlib.suppress(OSError):
            _settle(place, draft)
        if done:
            stands(target)
        if done and isinstance(error, OSError):
            return (_filed_but(target, error),)
        if isinstance(error, OSError) and error.filename:
            error.filename = str(error.filename).replace(str(draft / CONTENT), str(target))
        raise
    stands(target)
    return _enter(place, draft, target)


def _enter(place: Place, draft: Path, target: Path) -> tuple[Problem, ...]:
    """Enter a filed folder into the ledger, and clear its draft."""
    try:
        sync_folder(target.parent)
        _settle(place, draft)
    except OSError as error:
        return (_filed_but(target, error),)
    return ()


def _filed_but(target: Path, error: OSError) -> Problem:
    what = f"is filed and whole, but the disk then refused: {error.strerror or error}"
    fix = "Do not file it again: the next filing completes the ledger. See `battenbook archive verify`."
    return Problem(str(target), what, fix, severity="warning")


def enter_found(place: Place) -> tuple[Entry, ...]:
    """Enter into the ledger, as not proved, all that is filed and not in it; where there is none, make one.

    A damaged ledger is set aside, and what its last good seal covers is kept.

    Raises:
        OutputError: the archive cannot be written to.
    """
    with _alone(place):
        held = ledger.read(place)
        if held.problem and os.path.lexists(place.ledger):
            files.rename_new(place.ledger, _aside(place))
        if not place.ledger.exists():
            ledger.start(place, held.sealed)
        recover(place)
        known = ledger.read(place).entries
        found = [(key, proof) for key, proof in filed(place) if key not in known]
        new = [Entry(key, place.relative(p), files.digest(p)[0], found=True) for key, p in found]
        if new:
            lines = (f"{ledger.line_of(e.file, e.sha256)}{ledger.FOUND}{e.key}\n" for e in new)
            ledger.append(place, "".join(lines))
    return tuple(new)


def rebuild(root: Path, progress: Progress | None = None) -> tuple[FiledContents, tuple[Entry, ...]]:
    """Make the index anew from the folders, and enter in the ledger, as not proved, what is not in it.

    Returns:
        What is filed, and what was entered.

    Raises:
        ArchiveError: there is no archive.
        OutputError: it cannot be written to.
    """
    place = existing(root)
    entered = enter_found(place)
    place.index.unlink(missing_ok=True)
    return contents(root, progress), entered


def _aside(place: Place) -> Path:
    names = (place.private / f"ledger-damaged-{n}.txt" for n in range(1, 1000))
    return next(path for path in names if not path.exists())


def acknowledge(place: Place, number: str, note: str) -> tuple[Entry, ...]:
    """Take for good what is not proved of one quote, or of all for an empty number; the note is kept.

    Raises:
        OutputError: the archive cannot be written to.
        ArchiveError: its ledger is missing or damaged.
    """
    with writing(place):
        entries = ledger.read(place).entries.values()
        meant = tuple(e for e in entries if not e.proved and number in {"", e.key[: e.key.rindex("-")]})
        if meant:
            ledger.append(place, "".join(f"{ledger.WORD}{e.key}: {note}\n" for e in meant))
    return meant
