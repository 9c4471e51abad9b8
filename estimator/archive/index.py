"""The index: a SQLite file made from the folders, so that lists answer at once.

It is never the only copy. Whatever is wrong with it (missing, damaged, of an older program, behind the
ledger) mends itself when it is next asked; where the archive is read-only it is made in memory.
"""

import contextlib
import datetime as dt
import sqlite3
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import astuple, dataclass, fields
from decimal import Decimal
from pathlib import Path
from typing import Any, TypeVar

from estimator.archive import filing, store
from estimator.archive.events import Event
from estimator.archive.invoices import read_event
from estimator.archive.manifest import MANIFEST
from estimator.archive.names import event_key, number_key, revision_key
from estimator.archive.place import RECORD, Place, entry_of, existing, folders, keys, papers
from estimator.archive.summary import Summary
from estimator.core.errors import InputError, Problem

VERSION = 2
BATCH = 500
Progress = Callable[[int, int], None]


@dataclass(frozen=True, slots=True)
class QuoteRow:
    """One filed revision; `folder` below the archive with '/'."""

    key: str
    number_key: str
    number: str
    revision: int
    client: str
    title: str
    site: str
    date: dt.date
    currency: str
    price: Decimal
    total: Decimal
    cost: Decimal
    profit: Decimal
    area_m2: Decimal
    days: Decimal
    hours: Decimal
    folder: str


@dataclass(frozen=True, slots=True)
class EventRow:
    """What an account needs of one filed event; `cost` and `hours` are those of an actual."""

    key: str
    number_key: str
    sequence: int
    kind: str
    amount: Decimal
    outcome: str
    revision: int
    cost: Decimal
    hours: Decimal


COLUMNS = {"quotes": QuoteRow, "events": EventRow}
Row = TypeVar("Row", QuoteRow, EventRow)


@dataclass(frozen=True, slots=True)
class Contents:
    """All that the index holds, and the problems met on the way."""

    quotes: tuple[QuoteRow, ...]
    events: tuple[EventRow, ...]
    problems: tuple[Problem, ...]


def contents(root: Path, progress: Progress | None = None) -> Contents:
    """Return everything filed in the archive at `root`, the index mended first where it needs it.

    Raises:
        ArchiveError: there is no archive.
    """
    place = existing(root)
    for _ in range(2):
        try:
            return _read(place, place.index, progress)
        except sqlite3.OperationalError:  # it cannot be opened, written, or another program has it
            break
        except (sqlite3.DatabaseError, TypeError, ValueError, ArithmeticError):
            with contextlib.suppress(OSError):
                _discard(place)
    return _read(place, ":memory:", progress)


def rebuild(root: Path, progress: Progress | None = None) -> Contents:
    """Make the index anew from the folders, and enter in the ledger what is not in it.

    Raises:
        ArchiveError: there is no archive.
        OutputError: it cannot be written to.
    """
    place = existing(root)
    with filing.writing(place):
        filing.adopt(place)
        _discard(place)
    return contents(root, progress)


def _discard(place: Place) -> None:
    for tail in ("", "-journal", "-wal", "-shm"):
        place.index.with_name(place.index.name + tail).unlink(missing_ok=True)


def _read(place: Place, target: Path | str, progress: Progress | None) -> Contents:
    with contextlib.closing(sqlite3.connect(target, isolation_level=None)) as connection:
        _prepare(connection)
        problems = _refresh(connection, place, progress)
        quotes = _rows(connection.execute("SELECT * FROM quotes ORDER BY key"), QuoteRow)
        events = _rows(connection.execute("SELECT * FROM events ORDER BY key"), EventRow)
        return Contents(tuple(quotes), tuple(events), problems)


def _prepare(connection: sqlite3.Connection) -> None:
    """Make the tables where they are missing; refuse a file that is damaged."""
    if connection.execute("PRAGMA user_version").fetchone()[0] != VERSION:
        _create(connection)
    tables = "SELECT count(*) FROM sqlite_master WHERE type = 'table' AND name IN ('quotes', 'events')"
    whole = connection.execute("PRAGMA quick_check(1)").fetchone()[0] == "ok"
    if not whole or connection.execute(tables).fetchone()[0] != len(COLUMNS):
        raise sqlite3.DatabaseError("the index is damaged")


def _create(connection: sqlite3.Connection) -> None:
    script = ["BEGIN IMMEDIATE;"]
    for table, kind in COLUMNS.items():
        names = ", ".join(f.name for f in fields(kind)[1:])
        script.append(f"DROP TABLE IF EXISTS {table}; CREATE TABLE {table} (key TEXT PRIMARY KEY, {names});")
    script.append(f"PRAGMA user_version = {VERSION}; COMMIT;")
    connection.executescript("".join(script))


def _refresh(connection: sqlite3.Connection, place: Place, progress: Progress | None) -> tuple[Problem, ...]:
    """Bring the index level with what is filed; return what could not be read."""
    held = {row[0] for row in connection.execute("SELECT key FROM quotes UNION ALL SELECT key FROM events")}
    found = _filed(place, from_folders=not held)
    gone = [(key,) for key in held - found.keys()]
    missing = sorted(found.keys() - held)
    if not gone and not missing:
        return ()
    connection.execute("BEGIN IMMEDIATE")
    connection.executemany("DELETE FROM quotes WHERE key = ?", gone)
    connection.executemany("DELETE FROM events WHERE key = ?", gone)
    problems = _insert(connection, place, {key: found[key] for key in missing}, progress)
    connection.execute("COMMIT")
    return problems


def _filed(place: Place, *, from_folders: bool) -> dict[str, Path | None]:
    """Return the key of everything filed, with its folder where that was looked for."""
    filed: dict[str, Path | None] = dict.fromkeys(keys(place))
    if not from_folders and place.ledger.is_dir():
        return filed
    found: dict[str, Path | None] = {}
    for key, folder in folders(place):
        found[key] = folder
        number = key.rpartition("-r")[0]
        found.update({event_key(number, sequence): paper for sequence, paper in papers(folder)})
    return filed | {k: f for k, f in found.items() if k in filed} if place.ledger.is_dir() else found


def _insert(
    connection: sqlite3.Connection,
    place: Place,
    missing: Mapping[str, Path | None],
    progress: Progress | None,
) -> tuple[Problem, ...]:
    problems: list[Problem] = []
    for done, (key, folder) in enumerate(missing.items(), 1):
        try:
            _insert_one(connection, place, key, folder)
        except InputError as error:
            problems += [Problem(p.where, p.what, p.fix, severity="warning") for p in error.problems]
        if progress and (done % BATCH == 0 or done == len(missing)):
            progress(done, len(missing))
    return tuple(problems)


def _insert_one(connection: sqlite3.Connection, place: Place, key: str, folder: Path | None) -> None:
    if folder is None:
        entry = entry_of(place, key)
        folder = place.root / (entry.path if entry else key)
    if (folder / MANIFEST).is_file():
        _put(connection, quote_row(place, store.read_quote(folder), folder))
    elif (folder / RECORD).is_file():
        _put(connection, event_row(read_event(folder)))
    else:
        fix = "If it was moved, `battenbook archive rebuild` finds it; `verify` says what is missing."
        raise InputError([Problem(place.relative(folder), "is not where it was filed", fix)])


def _put(connection: sqlite3.Connection, row: QuoteRow | EventRow) -> None:
    table = "quotes" if isinstance(row, QuoteRow) else "events"
    values = [v if isinstance(v, int) else str(v) for v in astuple(row)]
    marks = ", ".join("?" * len(values))
    connection.execute(f"INSERT OR REPLACE INTO {table} VALUES ({marks})", values)  # noqa: S608 - no text of others


def quote_row(place: Place, quote: Summary, folder: Path) -> QuoteRow:
    """Return the index row of a quote filed in `folder`."""
    t, revision = quote.totals, quote.revision or 0
    return QuoteRow(
        revision_key(quote.number, revision), number_key(quote.number), quote.number, revision, quote.client,
        quote.title, quote.site, quote.date, quote.currency, t.price, t.total, t.cost, t.profit,
        quote.area_m2, quote.days, sum((h for _, h in quote.hours), Decimal(0)),
        place.relative(folder),
    )  # fmt: skip


def event_row(event: Event) -> EventRow:
    """Return the index row of an event."""
    return EventRow(
        event_key(event.number, event.sequence), number_key(event.number), event.sequence, event.kind,
        event.amount, event.outcome, event.revision, event.spent.cost, event.spent.total_hours,
    )  # fmt: skip


def _rows(found: Iterable[tuple[Any, ...]], kind: Callable[..., Row]) -> Iterator[Row]:
    """Yield rows of a table as records, numbers and dates read back from their text."""
    kinds = enumerate(kind.__annotations__.values())
    readers = [(i, _READERS[t]) for i, t in kinds if t in _READERS]
    for row in found:
        values = list(row)
        for i, read in readers:
            values[i] = read(values[i])
        yield kind(*values)


_READERS: Mapping[type, Callable[[Any], object]] = {
    int: int,
    Decimal: Decimal,
    dt.date: dt.date.fromisoformat,
}
