"""Files written whole or not at all, one or a set: staged beside their places, then renamed.

Every obstacle that can be seen is found before the first rename; where a rename still fails, what stood
there before is put back. Messages name the file that was asked for, never a draft of it.
"""

import errno
import os
import shutil
import signal
import stat
import threading
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from contextvars import ContextVar
from dataclasses import dataclass
from pathlib import Path

from estimator.core.errors import OutputError, Problem

NEW = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_BINARY", 0)
_RIGHTS = "Give it the right to be written, or choose another place."
FIXES = {
    errno.ENOSPC: "Make room on the disk.",
    errno.EDQUOT: "Make room in your quota.",
    errno.EROFS: _RIGHTS,
    errno.EACCES: f"{_RIGHTS} A program that has it open must close it.",
    errno.EPERM: _RIGHTS,
    errno.ENAMETOOLONG: "Choose a shorter name.",
    errno.ENOENT: "Make its folder first, or check the path.",
    errno.ENOTDIR: "Check the path: a file stands where a folder should.",
    errno.EEXIST: "Choose another name, or say --force.",
}
_WRITTEN: ContextVar[list[Path] | None] = ContextVar("written", default=None)


@contextmanager
def journal() -> Iterator[list[Path]]:
    """Give the list of what gets its place during a ``with`` block; a block inside it shares the list."""
    known = _WRITTEN.get()
    written = list[Path]() if known is None else known
    token = _WRITTEN.set(written)
    try:
        yield written
    finally:
        _WRITTEN.reset(token)


def stands(*paths: Path) -> None:
    """Note in the journal, where one is kept, that these have their places."""
    written = _WRITTEN.get()
    if written is not None:
        written.extend(paths)


@contextmanager
def undisturbed() -> Iterator[None]:
    """Let an interruption (Ctrl-C) wait until the end of a ``with`` block."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    waiting: list[int] = []
    before = signal.signal(signal.SIGINT, lambda number, _: waiting.append(number))
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before or signal.SIG_DFL)
        for number in waiting[:1]:
            signal.raise_signal(number)


def pour(handle: int, content: bytes) -> None:
    """Write all of `content` to an open file."""
    rest = memoryview(content)
    while rest:
        rest = rest[os.write(handle, rest) :]


@contextmanager
def opened_new(path: Path) -> Iterator[int]:
    """Give a handle to write a new file with, closed when the disk has it; a refusal names the file.

    Raises:
        FileExistsError: there is one already; nothing is overwritten.
    """
    try:
        handle = os.open(path, NEW, 0o666)
        try:
            yield handle
            os.fsync(handle)
        finally:
            os.close(handle)
    except OSError as error:
        error.filename = error.filename or str(path)
        raise


def write_new(path: Path, content: bytes) -> None:
    """Write a new file and wait until the disk has it.

    Raises:
        FileExistsError: there is one already; nothing is overwritten.
    """
    with opened_new(path) as handle:
        pour(handle, content)


def sync_folder(path: Path) -> None:
    """Wait until the disk has the folder's list of names (systems without that: nothing to do)."""
    if os.name == "nt":
        return
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


@contextmanager
def new_folder(path: Path) -> Iterator[None]:
    """Have a folder for the length of a ``with`` block, made where missing; if it fails, no new one stays.

    Raises:
        OutputError: it cannot be made.
    """
    missing = [folder for folder in (path, *path.parents) if not folder.exists()]
    try:
        with _named(path):
            path.mkdir(parents=True, exist_ok=True)
        yield
        for folder in missing:
            sync_folder(folder.parent)
    except BaseException:
        with suppress(OSError):
            for folder in missing:
                folder.rmdir()
        raise


def save(path: Path, content: bytes, *, force: bool = False) -> None:
    """Write one file whole or not at all; see `save_all`."""
    save_all({path: content}, force=force)


@undisturbed()
def save_all(files: Mapping[Path, bytes], *, force: bool = False) -> None:
    """Write a set of files: all of them, each whole, or none.

    Args:
        files: what each is to hold, by its place; the folders are there. A link is followed.
        force: replace files that are there, which keep their modes.

    Raises:
        OutputError: every obstacle, or the disk refused; what stood there stands as it was.
    """
    if problems := [problem for path in files for problem in _obstacles(path, force=force)]:
        raise OutputError(problems)
    drafts, stuck = [_draft(path) for path in files], list[_Draft]()
    try:
        for draft, content in zip(drafts, files.values(), strict=True):
            with _named(draft.path):
                _stage(draft, content)
        _place(drafts, stuck, force=force)
    finally:
        for draft in drafts:
            with suppress(OSError):
                draft.new.unlink(missing_ok=True)
                if draft not in stuck:
                    draft.old.unlink(missing_ok=True)
    stands(*files)


@dataclass(frozen=True, slots=True)
class _Draft:
    """A file on its way.

    Attributes:
        path: as it was asked for.
        target: its place, links followed.
        new: the draft beside it.
        old: a copy of what stood there, if anything.
    """

    path: Path
    target: Path
    new: Path
    old: Path


def _draft(path: Path) -> _Draft:
    target = path.resolve()
    name = f".battenbook-{os.urandom(6).hex()}"
    return _Draft(path, target, target.with_name(f"{name}.part"), target.with_name(f"{name}.old"))


def _obstacles(path: Path, *, force: bool) -> Iterator[Problem]:
    try:
        mode = path.stat().st_mode
    except FileNotFoundError:
        if not path.resolve().parent.is_dir():
            yield Problem(str(path), f"there is no folder {path.parent}", "Make it first, or check the path.")
        return
    except OSError as error:
        yield _refused(path, error)
        return
    if stat.S_ISDIR(mode):
        yield Problem(str(path), "is a folder", "Choose another name.")
    elif not stat.S_ISREG(mode):
        yield Problem(str(path), "is no regular file", "Choose another name.")
    elif not force:
        yield Problem(str(path), "is there already", "Choose another name, or say --force.")
    elif not os.access(path, os.W_OK):
        yield Problem(str(path), "may not be written", _RIGHTS)


def _stage(draft: _Draft, content: bytes) -> None:
    write_new(draft.new, content)
    if draft.target.exists():
        shutil.copy2(draft.target, draft.old)
        draft.new.chmod(stat.S_IMODE(draft.target.stat().st_mode))


def _place(drafts: Sequence[_Draft], stuck: list[_Draft], *, force: bool) -> None:
    """Give every draft its place, or put back what stood there; what cannot be is added to `stuck`."""
    try:
        for draft in drafts:
            with _named(draft.path):
                _rename(draft, force=force)
        for folder, path in {draft.target.parent: draft.path for draft in drafts}.items():
            with _named(path):
                sync_folder(folder)
    except BaseException:
        stuck += [draft for draft in drafts if not _put_back(draft)]
        if stuck:
            raise OutputError([_left(draft) for draft in stuck]) from None
        raise


def _rename(draft: _Draft, *, force: bool) -> None:
    if not force and os.path.lexists(draft.target):
        raise FileExistsError(errno.EEXIST, "is there already")
    os.replace(draft.new, draft.target)  # noqa: PTH105 - the fault tests stand in for `os` calls


def _put_back(draft: _Draft) -> bool:
    """Undo a rename that was done, the draft being gone then; False where the system refuses."""
    try:
        if draft.new.exists():
            pass
        elif draft.old.exists():
            os.replace(draft.old, draft.target)  # noqa: PTH105 - as above
        else:
            draft.target.unlink(missing_ok=True)
    except OSError:
        return False
    return True


def _left(draft: _Draft) -> Problem:
    where = f"The one before it is kept as {draft.old}." if draft.old.exists() else "Delete it."
    return Problem(str(draft.path), "is the new one, though the set could not be written", where)


@contextmanager
def _named(path: Path) -> Iterator[None]:
    """Name the file that was asked for in what the system refuses."""
    try:
        yield
    except OSError as error:
        raise OutputError([_refused(path, error)]) from error


def _refused(path: Path, error: OSError) -> Problem:
    fix = FIXES.get(error.errno or 0, "Check the path and the disk.")
    return Problem(str(path), error.strerror or str(error), f"{fix} Nothing was written.")
