"""Which archive a verb works in: as typed, else the environment's, else what the shop's settings name.

The shop's settings are a practice file with ``archive`` under ``[firm]``. Files are asked in this order: the
one typed with ``--practice``; the one a job names; ``practice.toml`` in the folder or the nearest one above
it; ``battenbook/practice.toml`` in the user's configuration folders (XDG Base Directory Specification 0.8;
on Windows the roaming application data).
"""

import os
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

import typer

from estimator.core.errors import InputError, refuse

VARIABLE = "BATTENBOOK_ARCHIVE"
PRACTICE = "practice.toml"
OWN = "battenbook"
Folder = Annotated[
    Path | None,
    typer.Option(
        "--archive", metavar="DIR", envvar=VARIABLE, help="The archive's folder; else the shop's setting."
    ),
]
Shop = Annotated[
    Path | None,
    typer.Option("--practice", metavar="FILE", help="The shop practice that names the archive's folder."),
]


@dataclass(frozen=True, slots=True)
class Where:
    """What was typed of the archive: its folder, from the option or the environment; the shop's practice."""

    archive: Path | None
    practice: Path | None = None

    def folder(self, job: Path | None = None) -> Path:
        """Return the archive's folder.

        Args:
            job: the job file the verb is about; its own practice is asked first, and folders from its own
                upwards. Without one, folders count from the current one.

        Raises:
            InputError: none was named, or a settings file cannot be read.
        """
        if self.archive is not None:
            return self.archive
        if self.practice is not None:
            return _typed(self.practice)
        named = (setting(file) for file in _settings(job) if file.is_file())
        found = next((folder for folder in named if folder is not None), None)
        if found is None:
            fix = (
                f"Give its folder with --archive DIR, set {VARIABLE}, or write `archive` under `[firm]` into "
                f"the shop's {PRACTICE}, here, in a folder above, or in {configurations(os.environ)[0]}."
            )
            raise refuse("--archive", "no archive was named", fix)
        return found


def _typed(practice: Path) -> Path:
    found = setting(practice)
    if found is None:
        fix = 'Write archive = "FOLDER" under [firm] there; it counts from that file.'
        raise refuse("--practice", f"{practice} names no archive", fix)
    return found


def setting(practice: Path) -> Path | None:
    """Return the archive's folder that a practice file names, None where it names none.

    A relative folder counts from the file it is written in.

    Raises:
        InputError: the file cannot be read, or holds something else there.
    """
    from estimator.job.document import read_document

    document = read_document(practice)
    firm = document.data.get("firm")
    named = firm.get("archive") if isinstance(firm, Mapping) else None
    if named is None:
        return None
    if not isinstance(named, str) or not named.strip():
        fix = 'Write it like archive = "../archive".'
        raise InputError([document.problem(("firm", "archive"), "names no folder", fix)])
    return practice.resolve().parent / Path(named.replace("\\", "/")).expanduser()


def _settings(job: Path | None) -> Iterator[Path]:
    """Yield the files that may name the archive, the nearest first."""
    if job is not None:
        yield from _of_job(job)
    start = Path.cwd() if job is None else job.resolve().parent
    yield from (folder / PRACTICE for folder in (start, *start.parents))
    yield from (folder / PRACTICE for folder in configurations(os.environ))


def _of_job(job: Path) -> Iterator[Path]:
    """Yield the practice file that a job names, where it is one of the shop's own."""
    from estimator.catalogue.load import DATA, sources
    from estimator.job.load import load_job

    practice = sources(load_job(job)[0].header, job.resolve().parent)["practice"]
    if DATA not in practice.parents:
        yield practice


def configurations(environ: Mapping[str, str]) -> tuple[Path, ...]:
    """Return the folders of the program's own settings, the user's first; relative ones are passed over."""
    if os.name == "nt" and environ.get("APPDATA"):
        return (Path(environ["APPDATA"]) / OWN,)
    home = environ.get("XDG_CONFIG_HOME", "")
    shared = environ.get("XDG_CONFIG_DIRS", "") or "/etc/xdg"
    user = Path(home) if Path(home).is_absolute() else Path("~").expanduser() / ".config"
    every = (user, *(Path(name) for name in shared.split(os.pathsep)))
    return tuple(folder / OWN for folder in every if folder.is_absolute())
