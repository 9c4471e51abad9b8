"""Filing a quote: the folder of one revision, written whole, never overwritten."""

import hashlib
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path, PurePosixPath

from estimator.archive import files, filing, ledger, manifest, summary
from estimator.archive.ledger import Entry, Place, existing, folder_of, folders
from estimator.archive.manifest import MANIFEST, FiledFile
from estimator.archive.names import number_key, revision_key, safe_name
from estimator.archive.summary import SUMMARY, Summary
from estimator.core.errors import OutputError, Problem, refuse, refuse_all
from estimator.core.files import sync_folder


@dataclass(frozen=True, slots=True)
class Filed:
    """What was filed, and where: `folder` below the archive with '/'; what the disk refused after that."""

    number: str
    revision: int
    folder: str
    files: int
    problems: tuple[Problem, ...] = ()


Sources = Mapping[str, Path | bytes]


def file_quote(root: Path, quote: Summary, sources: Sources, filed: datetime) -> Filed:
    """File one revision of a quote with everything it was made from.

    Args:
        root: the archive's folder; made where missing.
        quote: number '' and revision None are given the next free ones; but a quote whose every file is
            as in its latest revision is not filed a second time.
        sources: name in the folder (with '/') → the file to copy, or its content. A link is refused.
        filed: now, for reading only.

    Returns:
        Number, revision and folder as filed.

    Raises:
        InputError: the record does not add up, a name or file is unfit.
        OutputError: that revision is filed already, or the disk refused; nothing was filed.
        ArchiveError: the ledger is missing or damaged; nothing was filed.
    """
    refuse_all(quote.problems())
    manifest.checked_names(sources)
    _check_number(quote.number)
    place = Place(root)
    with filing.writing(place) as held:
        taken = held.entries
        if quote.revision is None:
            _refuse_unchanged(place, quote, sources, taken)
        settled = _settled(quote, taken)
        key = revision_key(settled.number, settled.revision or 0)
        target = _target(place, settled)
        told = filing.file_new(
            place, key, target, MANIFEST, lambda folder: _write(folder, settled, sources, filed)
        )
    return Filed(settled.number, settled.revision or 0, place.relative(target), len(sources) + 2, told)


def _check_number(number: str) -> None:
    if number and not number_key(number):
        raise refuse("number", f"{number!r} has nothing to file it by", "Number it with letters or digits.")


def _refuse_unchanged(place: Place, quote: Summary, sources: Sources, taken: Mapping[str, Entry]) -> None:
    """Refuse a quote whose files are, byte for byte, those of its latest revision."""
    filed = revisions(quote.number, taken) if quote.number else []
    folder = folder_of(place, taken, revision_key(quote.number, filed[-1])) if filed else None
    if folder is None or not sources:
        return
    listed = manifest.from_json(files.read_bytes(folder / MANIFEST), str(folder / MANIFEST))
    before = {file.name: file.sha256 for file in listed.files if file.name != SUMMARY}
    if before == {name: _sha256(source) for name, source in sources.items()}:
        what = f"is filed already as revision {filed[-1]}, and nothing has changed since"
        raise OutputError([Problem(f"quote {quote.number}", what, f"It is in {place.relative(folder)}.")])


def _sha256(source: Path | bytes) -> str:
    return hashlib.sha256(source).hexdigest() if isinstance(source, bytes) else files.digest(source)[0]


def _settled(quote: Summary, taken: Iterable[str]) -> Summary:
    """Return the quote with a number and a revision that nobody has."""
    number = quote.number or _next_number(quote.date.year, taken)
    revision = quote.revision
    if revision is None:
        revision = 1 + max(revisions(number, taken), default=-1)
    if revision_key(number, revision) in taken:
        what, fix = f"revision {revision} is filed already", "What is filed stays; raise the revision."
        raise OutputError([Problem(f"quote {number}", what, fix)])
    return replace(quote, number=number, revision=revision)


def revisions(number: str, taken: Iterable[str]) -> list[int]:
    """Return the filed revisions of a number, in order."""
    head = f"{number_key(number)}-r"
    tails = (key.removeprefix(head) for key in taken if key.startswith(head))
    return sorted(int(tail) for tail in tails if tail.isascii() and tail.isdigit())


def _next_number(year: int, taken: Iterable[str]) -> str:
    pattern = re.compile(rf"{year}-(\d+)-r\d+", re.ASCII)
    used = [int(match[1]) for key in taken if (match := pattern.fullmatch(key))]
    return f"{year}-{max(used, default=0) + 1:04d}"


def _target(place: Place, quote: Summary) -> Path:
    """Return the place of a quote; a client's folder that differs only in capitals is used again."""
    year = place.root / f"{quote.date.year:04d}"
    client = safe_name(quote.client, "client")
    if year.is_dir():
        same = (p.name for p in sorted(year.iterdir()) if p.name.casefold() == client.casefold())
        client = next(same, client)
    return year / client / f"{safe_name(quote.number)}-r{quote.revision}"


def _write(folder: Path, quote: Summary, sources: Sources, filed: datetime) -> str:
    """Fill the folder of a quote and return the SHA-256 of its manifest."""
    listed = [_put(folder, SUMMARY, summary.to_json(quote))]
    for name, source in sources.items():
        target = folder / PurePosixPath(name)
        files.make_folder(target.parent)
        if isinstance(source, bytes):
            sha256, size = files.write_new(target, source)
        else:
            sha256, size = files.copy_new(source, target)
        listed.append(FiledFile(name, size, sha256))
    proof = _put(folder, MANIFEST, manifest.to_json(manifest.of(quote, tuple(listed), filed)))
    for inner in sorted({p.parent for p in folder.rglob("*")}, reverse=True):
        sync_folder(inner)
    return proof.sha256


def _put(folder: Path, name: str, content: str) -> FiledFile:
    sha256, size = files.write_new(folder / name, content.encode())
    return FiledFile(name, size, sha256)


def find_revision(root: Path, number: str, revision: int | None = None) -> tuple[int, Path]:
    """Return the revision (the latest where none is asked for) and the folder of a filed quote.

    Raises:
        InputError: no such quote is filed.
    """
    place = existing(root)
    return find_among(place, ledger.read(place).entries, number, revision)


def find_among(
    place: Place, taken: Mapping[str, Entry], number: str, revision: int | None
) -> tuple[int, Path]:
    """Return what `find_revision` does, the ledger's entries being known.

    Raises:
        InputError: no such quote is filed.
    """
    filed = revisions(number, taken or dict(folders(place)))
    wanted = max(filed, default=-1) if revision is None else revision
    folder = folder_of(place, taken, revision_key(number, wanted)) if wanted in filed else None
    if folder is None:
        which = "" if revision is None else f" revision {revision}"
        fix = "`battenbook archive list` shows what is."
        raise refuse(f"quote {number}{which}", "is not filed here", fix)
    return wanted, folder


def quotes(root: Path) -> Iterator[tuple[str, Path]]:
    """Yield key and folder of every filed quote, as the folders say."""
    yield from folders(existing(root))
