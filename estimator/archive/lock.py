"""One writer at a time: a lock the system itself lets go of when its holder dies."""

import contextlib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from filelock import FileLock, Timeout

from estimator.core.errors import OutputError, Problem

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
