"""A filed quote opened again: its job file with the price list, practice, terms and labour it was filed with.

What is opened is first proven to be what was filed.
It is estimated again as the side of a comparison that was agreed, or copied out to go on from.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from estimator.archive import files, manifest
from estimator.archive.files import read_bytes
from estimator.archive.manifest import MANIFEST
from estimator.archive.summary import Summary, read_quote
from estimator.catalogue.load import Instead
from estimator.core.errors import ArchiveError, Problem, refuse
from estimator.job.document import read_document
from estimator.job.load import read_job
from estimator.office.edits import Applied, applied, edits_path, load_edits, placed
from estimator.tables.compare import Party, party

CATALOGUE = "catalogue/"
EDITS = ".edits.toml"
FILED = ("prices", "practice", "terms", "labour")
SHELF = "catalogue/shipped/"
"""Where the tables are filed that every estimate reads."""


@dataclass(frozen=True, slots=True)
class Reopened:
    """A filed quote ready to be estimated again.

    Attributes:
        job: the job file in the quote's folder; the office's edits stand beside it.
        instead: price list, practice, terms, labour rates and the tables every estimate reads, as filed.
        quote: the record that was filed.
        catalogue: the files it was filed with, by name in its folder.
    """

    job: Path
    instead: Instead
    quote: Summary
    catalogue: tuple[str, ...]


def reopen(folder: Path) -> Reopened:
    """Return the quote filed in `folder`, ready to be estimated again.

    Raises:
        InputError: the folder holds no quote, or none with a job file.
        ArchiveError: a file that is needed is missing or not what was filed.
    """
    listed = manifest.from_json(files.read_bytes(folder / MANIFEST), str(folder / MANIFEST))
    sums = {file.name: file.sha256 for file in listed.files}
    jobs = sorted((n for n in sums if _is_job(n)), key=len)
    if not jobs:
        raise refuse(str(folder), "was filed without a job file", "Compare with a job file of your own.")
    job = jobs[0]
    used = [n for n in sums if n == job or n.startswith(CATALOGUE) or n == f"{job[: -len('.toml')]}{EDITS}"]
    _prove(folder, {name: sums[name] for name in used})
    named = {Path(n).stem: folder / n for n in used if n.count("/") == 1}
    filed = {key: _over(folder, used, key) or named.get(key) for key in FILED}
    header = {key: str(path.resolve()) for key, path in filed.items() if path}
    catalogue = tuple(n for n in used if n.startswith(CATALOGUE))
    return Reopened(folder / job, Instead(header, folder.resolve() / SHELF), read_quote(folder), catalogue)


def _over(folder: Path, used: Sequence[str], kind: str) -> Path | None:
    """Return the file that lies over the other in the folder of both; None where there is none."""
    both = [folder / n for n in used if n.startswith(f"{CATALOGUE}{kind}/")]
    return next((path for path in both if "over" in read_document(path).data), None)


def _is_job(name: str) -> bool:
    return "/" not in name and name.endswith(".toml") and not name.endswith(EDITS)


def _prove(folder: Path, sums: Mapping[str, str]) -> None:
    problems = []
    for name, sha256 in sums.items():
        path = folder / name
        if not path.is_file():
            problems.append(Problem(str(path), "is missing", "Restore it from a backup."))
        elif files.digest(path)[0] != sha256:
            what = "is damaged: it is not what was filed"
            problems.append(Problem(str(path), what, "Restore it from a backup."))
    if problems:
        raise ArchiveError(problems)


def as_filed(folder: Path) -> tuple[Applied, Party]:
    """Return the estimate of the quote filed in `folder`, its job as written, and what it is called.

    A price that comes out other than the one filed is told among the problems.

    Raises:
        InputError: the folder holds no quote with a job file, or it cannot be estimated any more.
        ArchiveError: what was filed is damaged.
    """
    opened = reopen(folder)
    found = applied(opened.job, instead=opened.instead)
    written, _ = read_job(read_document(opened.job))
    scope = replace(found.estimate.scope, job=written)
    found = replace(found, estimate=replace(found.estimate, scope=scope))
    filed, now = opened.quote.totals.price, found.estimate.totals.price
    if filed != now:
        what = f"was filed at {filed} before tax; the program now works out {now} from the same files"
        fix = f"It was filed by version {opened.quote.program}; the figures shown are today's."
        changed = Problem(opened.quote.number, what, fix, severity="warning")
        found = replace(found, problems=(changed, *found.problems))
    label = f"as filed, revision {opened.quote.revision}"
    return found, party(label, found.estimate, len(found.edits))


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
