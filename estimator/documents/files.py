"""Everything an estimate writes, into one folder: the workbook, and beside it the papers."""

import os
import tempfile
from pathlib import Path

from estimator.core.errors import OutputError, Problem
from estimator.pipeline import Estimate
from estimator.tables.book import book_of
from estimator.workbook.build import workbook_bytes

PAPERS = ("letter", "a4")


def contents(estimate: Estimate, paper: str) -> dict[str, bytes]:
    """Return every file of an estimate by name.

    Raises:
        InputError: text that no workbook can hold.
        OutputError: `paper` is unknown.
    """
    if paper not in PAPERS:
        raise OutputError([Problem("--paper", f"{paper!r} is no paper known here", "Write letter or a4.")])
    header = estimate.job.header
    properties = {
        "job_id": header.number,
        "title": f"{header.number} {header.title}",
        "date": header.date.isoformat(),
    }
    chosen = "a4" if paper == "a4" else "letter"
    return {f"{header.number}-workbook.xlsx": workbook_bytes(book_of(estimate), properties, chosen)}


def write_all(estimate: Estimate, out: Path, paper: str, *, force: bool) -> tuple[Path, ...]:
    """Write workbook and papers into `out`; all of them or none.

    Raises:
        OutputError: a file is there already and `force` is not given; nothing is written.
    """
    files = contents(estimate, paper)
    there = [name for name in files if (out / name).exists()]
    if there and not force:
        raise OutputError(
            [
                Problem(str(out / name), "is there already", "Name another folder, or add --force.")
                for name in there
            ]
        )
    out.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(prefix=".battenbook-", dir=out) as folder:
        for name, body in files.items():
            _write(Path(folder) / name, body)
        for name in files:
            (Path(folder) / name).replace(out / name)
    return tuple(out / name for name in files)


def _write(path: Path, body: bytes) -> None:
    with path.open("wb") as file:
        file.write(body)
        file.flush()
        os.fsync(file.fileno())
