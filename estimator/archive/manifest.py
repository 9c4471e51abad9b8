"""The list of what one filed quote holds, with the SHA-256 of each file and the totals in plain sight."""

from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from datetime import datetime
from decimal import Decimal

from estimator.archive import jsons
from estimator.archive.names import SYSTEM_LONGEST, revision_key, safe_name
from estimator.archive.summary import SUMMARY, Summary
from estimator.core.errors import Problem, refuse_all

MANIFEST = "manifest.json"
PAPERS = "papers"


@dataclass(frozen=True, slots=True)
class FiledFile:
    """One file: its name below the quote's folder with '/', size, SHA-256 in hexadecimal."""

    name: str
    bytes: int
    sha256: str

    def __post_init__(self) -> None:
        if not is_safe(self.name):
            raise ValueError(f"{self.name!r} names no file of this folder")


@dataclass(frozen=True, slots=True)
class Manifest:
    """What the folder of a filed quote holds.

    Attributes:
        filed: when, as the clock of that day said; for reading only, nothing is put in order by it.
        totals: the figures most asked for, so that the folder can be read without the program.
    """

    number: str
    revision: int
    client: str
    title: str
    filed: str
    program: str
    currency: str
    totals: Mapping[str, Decimal]
    files: tuple[FiledFile, ...]

    @property
    def key(self) -> str:
        """Return the key of this revision."""
        return revision_key(self.number, self.revision)


def of(summary: Summary, files: tuple[FiledFile, ...], filed: datetime) -> Manifest:
    """Return the manifest of a quote whose number and revision are settled."""
    if summary.revision is None:
        raise ValueError("the revision is settled before the manifest is made")
    totals = {name: Decimal(value) for name, value in asdict(summary.totals).items()}
    return Manifest(
        summary.number, summary.revision, summary.client, summary.title, filed.isoformat(timespec="seconds"),
        summary.program, summary.currency, totals, tuple(sorted(files, key=lambda f: f.name)),
    )  # fmt: skip


def to_json(manifest: Manifest) -> str:
    """Return the manifest as JSON text that a person can read."""
    return jsons.dump(asdict(manifest))


def from_json(content: str | bytes, where: str = MANIFEST) -> Manifest:
    """Return the manifest written in `content`.

    Raises:
        InputError: it cannot be read, or names a file outside its folder.
    """
    return jsons.load(content, where, Manifest)


def is_safe(name: str) -> bool:
    """Return whether `name` is a relative path whose every part is its own safe name."""
    return all(part and safe_name(part, "", SYSTEM_LONGEST) == part for part in name.split("/"))


def checked_names(names: Iterable[str]) -> None:
    """Refuse names that may not stand in a quote's folder.

    Raises:
        InputError: a name leaves the folder, is kept for the archive itself, or differs from another
            only in capitals.
    """
    problems, seen = [], {MANIFEST: MANIFEST, SUMMARY: SUMMARY}
    for name in names:
        where, folded = f"file {name!r}", name.casefold()
        if not is_safe(name) or folded.split("/")[0] == PAPERS:
            problems.append(Problem(where, "is no name for a filed file", "Use a plain relative name."))
        elif folded in seen:
            problems.append(Problem(where, f"stands for the same as {seen[folded]!r}", "Rename one."))
        seen.setdefault(folded, name)
    refuse_all(problems)
