"""A filed quote copied out of the archive, to go on from: job file, edits, and all it was priced with."""

from pathlib import Path

from estimator.archive.files import read_bytes
from estimator.archive.reopen import SHELF, reopen
from estimator.office.edits import edits_path, load_edits
from estimator.office.placed import placed


def copied(folder: Path, out: Path) -> dict[Path, bytes]:
    """Return what the files of a copy are to hold, by path; its estimate comes to the price that was filed.

    Args:
        folder: of a filed quote.
        out: where the copy goes.

    Raises:
        InputError: the folder holds no quote with a job file.
        ArchiveError: a file that is needed is missing or not what was filed.
    """
    opened = reopen(folder)
    named = {
        k: Path(str(v)).relative_to(folder.resolve()).as_posix() for k, v in opened.instead.header.items()
    }
    tables = {"tables": SHELF.rstrip("/")} if opened.instead.shelf.is_dir() else {}
    job, number = opened.job, opened.quote.number
    edits = load_edits(edits_path(job), number)
    files = {out / name: read_bytes(folder / name) for name in opened.catalogue}
    return {**placed(job, out / job.name, {**named, **tables}, edits, number), **files}
