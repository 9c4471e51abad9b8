"""One writer at a time: a lock the system itself lets go of when its holder dies."""

import os
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from estimator.core.errors import OutputError, Problem

PATIENCE_S = 30.0
PAUSE_S = 0.02

if sys.platform == "win32":
    import msvcrt

    def _try(handle: int) -> None:
        msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
else:
    import fcntl

    def _try(handle: int) -> None:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)


@contextmanager
def locked(path: Path, patience_s: float = PATIENCE_S) -> Iterator[None]:
    """Hold the lock file at `path` for the length of a ``with`` block.

    Args:
        path: the lock file; made where missing, never removed (its removal would let two in).
        patience_s: how long to wait for another writer, in seconds.

    Raises:
        OutputError: another writer held it for longer than that.
    """
    handle = os.open(path, os.O_RDWR | os.O_CREAT | getattr(os, "O_NOFOLLOW", 0), 0o666)
    try:
        _wait(handle, path, patience_s)
        yield
    finally:
        os.close(handle)


def _wait(handle: int, path: Path, patience_s: float) -> None:
    end = time.monotonic() + patience_s
    while True:
        try:
            _try(handle)
        except OSError:
            if time.monotonic() >= end:
                what = "another program has been writing to this archive all the while"
                fix = "Wait until it has finished, or close it, and file again."
                raise OutputError([Problem(str(path.parent.parent), what, fix)]) from None
            time.sleep(PAUSE_S)
        else:
            return
