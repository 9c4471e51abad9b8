"""The two streams a command answers on, which may be full, closed, or read by nobody any more."""

import os
import sys
from typing import Any, TextIO


class Stream:
    """A stream that never fails: what it cannot take is dropped, and `lost` keeps the reason."""

    def __init__(self, stream: TextIO) -> None:
        self.lost: OSError | None = None
        self._stream = stream

    def write(self, text: str) -> int:
        """Write a text, or drop it; return its length."""
        try:
            self._stream.write(text)
        except OSError as error:
            self.lost = error
        return len(text)

    def flush(self) -> None:
        """Pass on what was written, or drop it."""
        try:
            self._stream.flush()
        except OSError as error:
            self.lost = error

    def __getattr__(self, name: str) -> Any:  # noqa: ANN401 - whatever the stream has
        """Return what the stream itself has."""
        return getattr(self._stream, name)


def watched() -> Stream:
    """Let standard output and standard error be such streams; return the first.

    A stream that is closed gets a handle that refuses all writing, so that no file takes its number.
    """
    while (handle := os.open(os.devnull, os.O_RDONLY)) <= 2:  # noqa: PLR2004 - 0, 1, 2: POSIX
        pass
    os.close(handle)
    out, err = (
        Stream(stream or open(number, "w", encoding="utf-8", closefd=False))  # noqa: SIM115
        for number, stream in ((1, sys.stdout), (2, sys.stderr))
    )
    sys.stdout, sys.stderr = out, err
    return out
