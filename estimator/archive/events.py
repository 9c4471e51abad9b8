"""What happens to a quote after it is filed: each event a record of its own, never rewritten.

Events are put in order by their sequence number, which the archive gives; dates are what the paper says.
An event that was filed wrongly is reversed by another: both stay, and neither is in force.
"""

import datetime as dt
import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any, Literal

from estimator.archive import files, jsons
from estimator.archive.names import event_key, number_key

Kind = Literal["invoice", "paper", "paid", "receipt", "outcome", "actual"]
Outcome = Literal["won", "lost"]
RECORD = "record.json"


@dataclass(frozen=True, slots=True)
class Spent:
    """What a job really took: hours by task, cost by section, in the quote's currency before tax."""

    hours: tuple[tuple[str, Decimal], ...] = ()
    costs: tuple[tuple[str, Decimal], ...] = ()

    @property
    def cost(self) -> Decimal:
        """Return the cost of all sections together."""
        return sum((amount for _, amount in self.costs), Decimal(0))

    @property
    def total_hours(self) -> Decimal:
        """Return the hours of all tasks together."""
        return sum((hours for _, hours in self.hours), Decimal(0))


@dataclass(frozen=True, slots=True)
class Event:
    """One thing filed beside a quote.

    Attributes:
        number: the quote's.
        sequence: from 1, one row for all revisions of the number.
        kind: 'invoice' (to the client; negative is a credit), 'paper' (of an invoice that was filed
            without its paper), 'paid' (by the client), 'receipt' (of what was bought for the job),
            'outcome', 'actual'.
        date: on the paper.
        amount: tax included, in the quote's currency; 0 where the kind has none.
        reference: the invoice's number; the receipt's; for 'paid', the invoice it pays.
        outcome: 'won' or 'lost' for an outcome, '' otherwise.
        revision: the revision it concerns.
        note: free text.
        spent: for 'actual'.
        file, bytes, sha256: the paper filed with it, '' and 0 where there is none.
        reverses: the sequence number of the event that it reverses, 0 for none. It has that event's kind,
            and its amount with the other sign, so that sums need not know of it.
        against: what spoke against filing it, where it was filed all the same.
    """

    number: str
    sequence: int
    kind: Kind
    date: dt.date
    amount: Decimal = Decimal(0)
    reference: str = ""
    outcome: Outcome | Literal[""] = ""
    revision: int = 0
    note: str = ""
    spent: Spent = Spent()
    file: str = ""
    bytes: int = 0
    sha256: str = ""
    reverses: int = 0
    against: tuple[str, ...] = ()

    @property
    def key(self) -> str:
        """Return the event's key."""
        return event_key(self.number, self.sequence)

    @property
    def number_key(self) -> str:
        """Return the key of the quote's number."""
        return number_key(self.number)


def in_force(found: Iterable[Event]) -> list[Event]:
    """Return the events that are neither reversed nor reverse another."""
    every = list(found)
    reversed_ = {(e.number_key, e.reverses) for e in every if e.reverses}
    return [e for e in every if not e.reverses and (e.number_key, e.sequence) not in reversed_]


def last_outcome(found: Iterable[Event]) -> Event | None:
    """Return the outcome noted last among the events of one quote; dates decide nothing."""
    said = (e for e in in_force(found) if e.kind == "outcome")
    return max(said, key=lambda e: e.sequence, default=None)


def to_json(event: Event) -> str:
    """Return the event as JSON text that carries the SHA-256 of its own content."""
    body = json.loads(json.dumps(asdict(event), default=str))
    return jsons.dump({"check": _check(body), **body})


def _check(body: Mapping[str, Any]) -> str:
    plain = json.dumps(body, sort_keys=True, ensure_ascii=True, separators=(",", ":"))
    return hashlib.sha256(plain.encode()).hexdigest()


def from_json(content: str | bytes, where: str = RECORD) -> Event:
    """Return the event written in `content`.

    Raises:
        InputError: it cannot be read, or is not what was filed.
    """
    return jsons.load(content, where, Event, _unaltered)


def _unaltered(body: Mapping[str, Any]) -> None:
    if body["check"] != _check({name: value for name, value in body.items() if name != "check"}):
        raise ValueError("it is not what was filed")


def read_event(folder: Path) -> Event:
    """Return the event filed in `folder`.

    Raises:
        InputError: its record is missing or damaged.
    """
    return from_json(files.read_bytes(folder / RECORD), str(folder / RECORD))
