"""A job file as it is to stand in another folder: the same job, its files named from there."""

import os
from collections.abc import Mapping
from pathlib import Path

from estimator.catalogue.load import shelf_of, sources
from estimator.catalogue.shelf import DATA
from estimator.core.errors import OutputError, Problem
from estimator.intake.files import read_text
from estimator.job.description import Header
from estimator.job.document import with_header
from estimator.office.edits import Edit, edits_path, edits_text


def placed(
    job: Path, target: Path, changes: Mapping[str, object], edits: tuple[Edit, ...], number: str
) -> dict[Path, bytes]:
    """Return what a job file and the office's edits are to hold in their new place, by path.

    Args:
        job: the job file as it is.
        target: its new place.
        changes: keys of ``[job]``, each with what it holds there.
        edits: that hold there. Without any, edits that lie there already are emptied.
        number: the job's number there.

    Raises:
        OutputError: the new place is the old one.
    """
    if target.resolve() == job.resolve():
        what, fix = "is the job file that it is made from", "Name another folder or another number."
        raise OutputError([Problem(str(target), what, fix)])
    files = {target: with_header(read_text(job, str(job)), changes).encode()}
    beside = edits_path(target)
    if edits or beside.exists():
        files[beside] = edits_text(edits, number).encode()
    return files


def named_from(header: Header, base: Path, folder: Path) -> dict[str, str]:
    """Return the keys of ``[job]`` that name a file of the shop's, each as it is named from another folder.

    Args:
        header: of the job.
        base: the folder from which its names count.
        folder: the folder from which they are to count.
    """
    used = {**sources(header, base), "tables": shelf_of(header, base)}
    own = {key: path for key, path in used.items() if path != DATA and DATA not in path.parents}
    return {key: _from(folder.resolve(), path.resolve()) for key, path in own.items()}


def _from(folder: Path, path: Path) -> str:
    return Path(os.path.relpath(path, folder) if path.drive == folder.drive else path).as_posix()
