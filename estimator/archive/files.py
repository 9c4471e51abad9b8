"""Durable file operations: a file is new, whole and on the disk, or the operation is refused."""

import contextlib
import errno
import hashlib
import os
import shutil
import stat
from pathlib import Path

from estimator.core import files as durable
from estimator.core.errors import OutputError, Problem, refuse
from estimator.core.files import opened_new, pour, sync_folder

BLOCK_BYTES = 1 << 20
LARGEST_RECORD = 20_000_000
LARGEST_LIST = 1_000_000_000
"""What is one for the whole archive grows with it."""
_READ = os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)


def open_regular(path: Path) -> int:
    """Return a handle that reads the regular file at `path`; a link is not followed.

    Raises:
        InputError: it is missing, a symbolic link, a folder, or no regular file.
    """
    try:
        handle = os.open(path, _READ)
    except FileNotFoundError:
        raise refuse(str(path), "there is no such file", "Give the path of an existing file.") from None
    except OSError as error:
        if error.errno in {errno.ELOOP, errno.EMLINK}:
            raise refuse(str(path), "is a symbolic link", "Give the file itself.") from None
        raise
    if not stat.S_ISREG(os.fstat(handle).st_mode):
        os.close(handle)
        raise refuse(str(path), "is no regular file", "Give a file, not a folder or a device.")
    return handle


def read_bytes(path: Path, largest: int = LARGEST_RECORD) -> bytes:
    """Return what the regular file at `path` holds, which is no more than `largest` bytes.

    Raises:
        InputError: as `open_regular`, or it is larger.
    """
    with os.fdopen(open_regular(path), "rb") as stream:
        content = stream.read(largest + 1)
    if len(content) > largest:
        raise refuse(str(path), f"is over {largest // 10**6} MB", "Is it the right file?")
    return content


def digest(path: Path) -> tuple[str, int]:
    """Return the SHA-256 in hexadecimal, and the size in bytes, of the regular file at `path`."""
    with os.fdopen(open_regular(path), "rb", buffering=0) as stream:
        total = hashlib.file_digest(stream, "sha256").hexdigest()
        return total, os.fstat(stream.fileno()).st_size


def write_new(path: Path, content: bytes) -> tuple[str, int]:
    """Write a new file and wait until the disk has it.

    Returns:
        Its SHA-256 in hexadecimal and its size in bytes.

    Raises:
        FileExistsError: there is one already; nothing is overwritten.
    """
    durable.write_new(path, content)
    return hashlib.sha256(content).hexdigest(), len(content)


def write_behind(path: Path, size: int, content: bytes) -> None:
    """Write `content` into a file from the byte `size` on, over what may stand there; wait for the disk."""
    handle = os.open(path, os.O_WRONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_BINARY", 0))
    try:
        os.ftruncate(handle, size)
        os.lseek(handle, size, os.SEEK_SET)
        pour(handle, content)
        os.fsync(handle)
    finally:
        os.close(handle)


def copy_new(source: Path, target: Path) -> tuple[str, int]:
    """Copy a regular file to a new one and wait until the disk has it.

    Returns:
        The SHA-256 in hexadecimal and the size in bytes of what was copied.
    """
    reading = open_regular(source)
    try:
        with opened_new(target) as writing:
            return _copy_all(reading, writing)
    finally:
        os.close(reading)


def _copy_all(reading: int, writing: int) -> tuple[str, int]:
    total, size = hashlib.sha256(), 0
    while block := os.read(reading, BLOCK_BYTES):
        total.update(block)
        size += len(block)
        pour(writing, block)
    return total.hexdigest(), size


def make_folder(path: Path) -> None:
    """Make a folder, and those above it, waiting for the disk; one that is there is fine.

    Raises:
        OutputError: a link or a file stands where a folder should.
    """
    if path.is_symlink():
        raise OutputError(
            [Problem(str(path), "is a symbolic link", "An archive's folders are real folders.")]
        )
    if path.is_dir():
        return
    if path.exists():
        raise OutputError([Problem(str(path), "is a file where a folder should be", "Move it away.")])
    make_folder(path.parent)
    with contextlib.suppress(FileExistsError):
        os.mkdir(path)  # noqa: PTH102 - every file operation of the archive is an `os` call
    sync_folder(path.parent)


def real_folders(root: Path, folder: Path) -> None:
    """Refuse a `folder` that is reached through a symbolic link somewhere below `root`.

    Raises:
        OutputError: one of the folders between them is a link.
    """
    while folder != root:
        if folder.is_symlink():
            raise OutputError(
                [Problem(str(folder), "is a symbolic link", "An archive has real folders only.")]
            )
        folder = folder.parent


def rename_new(source: Path, target: Path) -> None:
    """Give a finished file or folder its place; nothing that stands there is replaced.

    Raises:
        FileExistsError: the place is taken.
    """
    if os.path.lexists(target):
        raise FileExistsError(errno.EEXIST, "is filed already and is never overwritten", str(target))
    os.rename(source, target)  # noqa: PTH104 - every file operation of the archive is an `os` call


def remove_tree(path: Path) -> None:
    """Remove a folder left by a filing that never finished; one that is gone is fine."""
    with contextlib.suppress(FileNotFoundError):
        shutil.rmtree(path)
