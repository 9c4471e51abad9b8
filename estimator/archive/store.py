"""Filing: the folder of one revision of a quote, never overwritten, and the papers that follow it."""

import datetime as dt
import hashlib
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from pathlib import Path, PurePosixPath

from estimator.archive import events, files, filing, ledger, manifest, summary
from estimator.archive.events import RECORD, Event, in_force, last_outcome, read_event
from estimator.archive.index import contents
from estimator.archive.ledger import Entry, Place, existing, folder_of, folders, papers
from estimator.archive.manifest import MANIFEST, PAPERS, FiledFile
from estimator.archive.names import event_key, natural, number_key, revision_key, safe_name
from estimator.archive.objections import QuoteStanding, objections
from estimator.archive.summary import SUMMARY, Summary, read_quote
from estimator.core.errors import InputError, OutputError, Problem, refuse, refuse_all
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


def file_quote(root: Path, quote: Summary, sources: Sources, filed: dt.datetime) -> Filed:
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


def _write(folder: Path, quote: Summary, sources: Sources, filed: dt.datetime) -> str:
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


Planned = Sequence[tuple[Event, Path | None]]
Plan = Callable[[Sequence[Event]], Planned]
"""From what is filed beside a quote to what is to be filed now, each with its paper if it has one."""
NO_NOTE = refuse("--note", "nothing says why it is filed all the same", "Say why: --force --note WHY.")


@dataclass(frozen=True, slots=True)
class Done:
    """The events as filed, and what the disk refused after that."""

    events: tuple[Event, ...]
    problems: tuple[Problem, ...]


def file_events(
    root: Path, number: str, plan: Plan, revision: int | None = None, *, force: bool = False
) -> Done:
    """File events beside the quote of a number; nothing is filed unless all of them may be.

    Args:
        root: the archive's folder.
        number: the quote's.
        plan: asked while nobody else can file. Sequence, revision and the file's fields are set here; a
            paper is copied, and a symbolic link is refused.
        revision: the revision they concern; the latest where none is given.
        force: file what something speaks against; that is kept with it, and its note must say why.

    Raises:
        InputError: no such quote, a paper cannot be read, or something speaks against an event.
        OutputError: an invoice of that reference is filed already, or the disk refused; where it had taken
            some of them, it says so.
        ArchiveError: the ledger is missing or damaged.
    """
    place = existing(root)
    with filing.writing(place) as held:
        wanted, quote = find_among(place, held.entries, number, revision)
        sequences = _sequences(held.entries, number)
        earlier = [read_event(_paper_folder(place, held.entries, number, n)) for n in sequences]
        planned = _checked(place, held.entries, plan(earlier), earlier, force=force)
        done, told = list[Event](), list[Problem]()
        for sequence, (event, paper) in enumerate(planned, 1 + max(sequences, default=0)):
            settled = replace(event, sequence=sequence, revision=wanted)
            try:
                filed, problems = _file(place, settled, quote / PAPERS / _folder_name(settled), paper)
            except OSError as error:
                if not done:
                    raise
                raise _half(done, len(planned), error) from error
            done.append(filed)
            told += problems
    return Done(tuple(done), tuple(told))


def _checked(
    place: Place, taken: Mapping[str, Entry], planned: Planned, earlier: Sequence[Event], *, force: bool
) -> Planned:
    """Return what may be filed, what speaks against it noted on each; unless forced, refuse the whole."""
    standing = list(in_force(earlier))
    found, checked = list[Problem](), list[tuple[Event, Path | None]]()
    papers_filed = _papers_filed(place) if any(paper for _, paper in planned) else {}
    for asked, paper in planned:
        event, sha256 = _as_paper(asked, paper, standing), files.digest(paper)[0] if paper else ""
        against = list[Problem]()
        if not event.reverses:
            _refuse_twin(event, standing)
            before = _standing(place, taken, event.number, standing, papers_filed)
            against = list(objections(event, sha256, before))
        if against and force and not event.note.strip():
            raise NO_NOTE
        found += against
        checked.append((replace(event, against=tuple(p.what for p in against)), paper))
        standing.append(event)
    if found and not force:
        raise InputError(found)
    return checked


def _papers_filed(place: Place) -> dict[str, str]:
    """Return the SHA-256 of every paper in force in the archive, and where it is filed."""
    rows = in_force(contents(place.root).events)
    return {e.sha256: f"beside {e.number_key} as paper {e.sequence}" for e in rows if e.sha256}


def _standing(
    place: Place,
    taken: Mapping[str, Entry],
    number: str,
    standing: Sequence[Event],
    papers_filed: Mapping[str, str],
) -> QuoteStanding:
    filed, last = revisions(number, taken), last_outcome(standing)
    counts = last.revision if last and last.outcome == "won" else filed[-1]
    first, quoted = (read_quote(find_among(place, taken, number, n)[1]) for n in (filed[0], counts))
    return QuoteStanding(quoted.totals.total, first.date, standing, papers_filed)


def reverse(root: Path, number: str, sequence: int, day: dt.date, note: str) -> Done:
    """File an event that reverses another: both stay, and neither counts.

    Args:
        root: the archive's folder.
        number: the quote's.
        sequence: the number of the paper that is reversed.
        day: of the reversal.
        note: why.

    Raises:
        InputError: no such paper, it is reversed already or reverses another, or nothing says why.
        OutputError: the disk refused; nothing was filed.
        ArchiveError: the ledger is missing or damaged.
    """
    if not note.strip():
        raise refuse("--note", "nothing says why it is reversed", "Say why: --note WHY.")
    found = {e.sequence: e for e in events_of(existing(root), number)}
    wrong = found.get(sequence)
    where = f"paper {sequence} of {number}"
    if wrong is None:
        raise refuse(where, "is not filed", f"`battenbook archive show {number}` lists what is filed.")

    def plan(earlier: Sequence[Event]) -> Planned:
        again = next((e.sequence for e in earlier if e.reverses == sequence), None)
        if again or wrong.reverses:
            what = f"is reversed already, by paper {again}" if again else "reverses another itself"
            raise refuse(where, what, "What was right is filed anew.")
        paid = [str(e.sequence) for e in in_force(earlier) if e.kind == "paid" and _pays(e, wrong)]
        if paid:
            raise refuse(
                where, "is an invoice that was paid", f"Reverse what was paid first: {', '.join(paid)}."
            )
        amount = -wrong.amount if wrong.amount else wrong.amount
        return [(Event(number, 0, wrong.kind, day, amount, wrong.reference, wrong.outcome, note=note,
                       reverses=sequence), None)]  # fmt: skip

    return file_events(root, number, plan, wrong.revision)


def _pays(payment: Event, event: Event) -> bool:
    return event.kind == "invoice" and payment.reference == event.reference


def _half(done: Sequence[Event], of: int, error: OSError) -> OutputError:
    """Return what to say of a disk that refuses in the middle: how many were filed before."""
    what = f"the disk then refused: {error.strerror or error}"
    fix = f"{len(done)} of {of} are filed and stay; file it again and only the others are."
    return OutputError([Problem(f"quote {done[0].number}", what, fix)])


def _file(place: Place, event: Event, target: Path, paper: Path | None) -> tuple[Event, tuple[Problem, ...]]:
    done = [event]

    def write(folder: Path) -> str:
        if paper is not None:
            name = _paper_name(paper)
            sha256, size = files.copy_new(paper, folder / name)
            done[0] = replace(event, file=name, bytes=size, sha256=sha256)
        proof, _ = files.write_new(folder / RECORD, events.to_json(done[0]).encode())
        sync_folder(folder)
        return proof

    told = filing.file_new(place, event_key(event.number, event.sequence), target, RECORD, write)
    return done[0], told


def _paper_name(paper: Path) -> str:
    name = safe_name(paper.name, "paper")
    return f"paper-{name}" if name.casefold() == RECORD else name


def _folder_name(event: Event) -> str:
    kind = "reversal" if event.reverses else event.kind
    return safe_name(f"{event.sequence:04d}-{kind}-{event.reference or event.outcome}".rstrip("-"))


def _as_paper(event: Event, paper: Path | None, earlier: Sequence[Event]) -> Event:
    """Return the event; an invoice that is filed alike, but without its paper, as that paper alone."""
    key = number_key(event.reference)
    same = [e for e in earlier if e.kind in {"invoice", "paper"} and number_key(e.reference) == key]
    bare = [e for e in same if not e.file and (e.amount, e.date) == (event.amount, event.date)]
    if event.kind != "invoice" or paper is None or not key or len(same) != 1 or not bare:
        return event
    return replace(event, kind="paper", amount=Decimal(0))


def _refuse_twin(event: Event, earlier: Iterable[Event]) -> None:
    """Refuse a second invoice or receipt of one reference: it would be counted twice."""
    if event.kind not in {"invoice", "receipt"} or not event.reference:
        return
    key = number_key(event.reference)
    for filed in earlier:
        if filed.kind == event.kind and number_key(filed.reference) == key:
            what = f"is filed already, dated {filed.date}, {filed.amount}"
            fix = "What is filed stays; give a correction its own number."
            raise OutputError([Problem(f"{event.kind} {event.reference}", what, fix)])


def _sequences(taken: Iterable[str], number: str) -> list[int]:
    head = f"{number_key(number)}-e"
    tails = (key.removeprefix(head) for key in taken if key.startswith(head))
    return sorted(int(tail) for tail in tails if tail.isascii() and tail.isdigit())


def events_of(place: Place, number: str) -> Iterator[Event]:
    """Yield what was filed beside the quotes of a number, in the order of filing.

    Raises:
        InputError: a record is missing or damaged.
    """
    taken = ledger.read(place).entries
    for sequence in _sequences(taken, number):
        yield read_event(_paper_folder(place, taken, number, sequence))


def paper_of(place: Place, event: Event) -> Path:
    """Return where the paper of a filed event lies; its folder where it has none."""
    return _paper_folder(place, ledger.read(place).entries, event.number, event.sequence) / event.file


def _paper_folder(place: Place, taken: Mapping[str, Entry], number: str, sequence: int) -> Path:
    key = event_key(number, sequence)
    return folder_of(place, taken, key) or place.root / taken[key].folder


def papers_of(
    root: Path, first: dt.date | None = None, last: dt.date | None = None
) -> tuple[tuple[Summary, Event], ...]:
    """Return every event dated from `first` to `last`, with the quote it belongs to, by date.

    Events of one date keep the order of their quotes' numbers and of their filing.

    Raises:
        InputError: a record or its quote is damaged.
    """
    place = existing(root)
    found = []
    for key, folder in folders(place):
        dated = [read_event(paper) for _, paper in papers(folder)]
        kept = [e for e in dated if (first or e.date) <= e.date <= (last or e.date)]
        if kept:
            quote = read_quote(folder)
            found += [
                (event.date, natural(key.rpartition("-r")[0]), event.sequence, quote, event) for event in kept
            ]
    found.sort(key=lambda row: row[:3])
    return tuple((quote, event) for *_, quote, event in found)


def find_invoice(root: Path, number: str, reference: str = "") -> tuple[Summary, Event, Decimal]:
    """Return a filed invoice, its quote, and what was paid on it; the latest where no reference is given.

    Raises:
        InputError: there is no such invoice.
    """
    every = tuple(events_of(existing(root), number))
    found, wanted = in_force(every), number_key(reference)
    named = [e for e in found if e.kind == "invoice" and wanted in {"", number_key(e.reference)}]
    if not named:
        gone = any(e.reverses and wanted == number_key(e.reference) for e in every)
        what = f"invoice {reference} is reversed" if gone else f"has no invoice {reference}".rstrip()
        raise refuse(f"quote {number}", what, f"`battenbook archive show {number}` lists what is filed.")
    event = named[-1]
    paid = [
        e.amount for e in found if e.kind == "paid" and number_key(e.reference) == number_key(event.reference)
    ]
    quote = read_quote(find_revision(root, number, event.revision)[1])
    return quote, event, sum(paid, Decimal(0))
