"""Write a file whole or not at all."""

import os
import tempfile
from pathlib import Path


def write_whole(path: Path, body: bytes) -> None:
    """Write `body` to a temporary file beside `path`, to the disk, and rename it over `path`.

    Raises:
        OSError: the folder cannot be written to; what stood there stays.
    """
    handle, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(body)
            file.flush()
            os.fsync(file.fileno())
        Path(name).chmod(0o644)
        Path(name).replace(path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
