"""Papers filed beside a quote: invoices, payments, receipts, the outcome, and what the job really took."""

import datetime as dt
import os
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

from estimator.archive import events, files, filing
from estimator.archive.events import Event
from estimator.archive.manifest import PAPERS
from estimator.archive.names import event_key, natural, number_key, safe_name
from estimator.archive.place import RECORD, Place, entry_of, existing, folders, keys, papers
from estimator.archive.store import find_among, find_revision, read_quote
from estimator.archive.summary import Summary
from estimator.core.errors import OutputError, Problem, refuse
from estimator.core.files import sync_folder

Plan = Callable[[Sequence[Event]], Sequence[tuple[Event, Path | None]]]
"""From what is filed beside a quote to what is to be filed now, each with its paper if it has one."""


def file_event(root: Path, event: Event, paper: Path | None = None, revision: int | None = None) -> Event:
    """File an event, with its paper if it has one, beside the quote it belongs to; as `file_events`."""
    (filed,) = file_events(root, event.number, lambda _: [(event, paper)], revision)
    return filed


def file_events(root: Path, number: str, plan: Plan, revision: int | None = None) -> tuple[Event, ...]:
    """File events beside the quote of a number; nothing is filed unless all of them may be.

    Args:
        root: the archive's folder.
        number: the quote's.
        plan: asked while nobody else can file. Sequence, revision and the file's fields are set here; a
            paper is copied, and a symbolic link is refused.
        revision: the revision they concern; the latest where none is given.

    Returns:
        The events as filed.

    Raises:
        InputError: no such quote, or a paper cannot be read.
        OutputError: an invoice of that reference is filed already, or the disk refused; where it had taken
            some of them, it says so.
    """
    place = existing(root)
    with filing.writing(place):
        taken = keys(place)
        wanted, quote = find_among(place, taken, number, revision)
        sequences = _sequences(taken, number)
        earlier = [read_event(_paper_folder(place, number, n)) for n in sequences]
        planned = [(_as_paper(event, paper, earlier), paper) for event, paper in plan(earlier)]
        for position, (event, paper) in enumerate(planned):
            _refuse_twin(event, [*earlier, *(e for e, _ in planned[:position])])
            if paper is not None:
                os.close(files.open_regular(paper))
        done: list[Event] = []
        for sequence, (event, paper) in enumerate(planned, 1 + max(sequences, default=0)):
            settled = replace(event, sequence=sequence, revision=wanted)
            target = quote / PAPERS / _folder_name(settled)
            with _telling(done, len(planned)):
                done.append(_file(place, settled, target, paper))
        return tuple(done)


@contextmanager
def _telling(done: Sequence[Event], of: int) -> Iterator[None]:
    """Say of a disk that refuses in the middle how many were filed before."""
    try:
        yield
    except OSError as error:
        if not done:
            raise
        what = f"the disk then refused: {error.strerror or error}"
        fix = f"{len(done)} of {of} are filed and stay; file it again and only the others are."
        raise OutputError([Problem(f"quote {done[0].number}", what, fix)]) from error


def _file(place: Place, event: Event, target: Path, paper: Path | None) -> Event:
    done = [event]

    def write(folder: Path) -> str:
        if paper is not None:
            name = _paper_name(paper)
            sha256, size = files.copy_new(paper, folder / name)
            done[0] = replace(event, file=name, bytes=size, sha256=sha256)
        proof, _ = files.write_new(folder / RECORD, events.to_json(done[0]).encode())
        sync_folder(folder)
        return proof

    filing.file_new(place, event_key(event.number, event.sequence), target, write)
    return done[0]


def _paper_name(paper: Path) -> str:
    name = safe_name(paper.name, "paper")
    return f"paper-{name}" if name.casefold() == RECORD else name


def _folder_name(event: Event) -> str:
    return safe_name(f"{event.sequence:04d}-{event.kind}-{event.reference or event.outcome}".rstrip("-"))


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


def _sequences(taken: set[str], number: str) -> list[int]:
    head = f"{number_key(number)}-e"
    tails = (key.removeprefix(head) for key in taken if key.startswith(head))
    return sorted(int(tail) for tail in tails if tail.isascii() and tail.isdigit())


def events_of(place: Place, number: str) -> Iterator[Event]:
    """Yield what was filed beside the quotes of a number, in the order of filing.

    Raises:
        InputError: a record is missing or damaged.
    """
    for sequence in _sequences(keys(place), number):
        yield read_event(_paper_folder(place, number, sequence))


def paper_of(place: Place, event: Event) -> Path:
    """Return where the paper of a filed event lies; its folder where it has none."""
    return _paper_folder(place, event.number, event.sequence) / event.file


def _paper_folder(place: Place, number: str, sequence: int) -> Path:
    entry = entry_of(place, event_key(number, sequence))
    folder = place.root / entry.path if entry else place.root
    if entry and (folder / RECORD).is_file():
        return folder
    head = f"{number_key(number)}-r"
    quotes = (quote for key, quote in folders(place) if key.startswith(head))
    moved = (path for quote in quotes for found, path in papers(quote) if found == sequence)
    return next(moved, folder)


def read_event(folder: Path) -> Event:
    """Return the event filed in `folder`.

    Raises:
        InputError: its record is missing or damaged.
    """
    return events.from_json(files.read_bytes(folder / RECORD), str(folder / RECORD))


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
    found = tuple(events_of(existing(root), number))
    wanted = number_key(reference)
    named = [e for e in found if e.kind == "invoice" and wanted in {"", number_key(e.reference)}]
    if not named:
        fix = f"`battenbook archive show {number}` lists what is filed."
        raise refuse(f"quote {number}", f"has no invoice {reference}".rstrip(), fix)
    event = named[-1]
    paid = [
        e.amount for e in found if e.kind == "paid" and number_key(e.reference) == number_key(event.reference)
    ]
    quote = read_quote(find_revision(root, number, event.revision)[1])
    return quote, event, sum(paid, Decimal(0))
