"""What happens to a quote after it is filed: each event a record of its own, never rewritten.

Events are put in order by their sequence number, which the archive gives; dates are what the paper says.
"""

import datetime as dt
import hashlib
import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from decimal import Decimal
from typing import Any, Literal, get_args

from estimator.archive import jsons

Kind = Literal["invoice", "paper", "paid", "receipt", "outcome", "actual"]
Outcome = Literal["won", "lost"]
KINDS: tuple[str, ...] = get_args(Kind)
OUTCOMES: tuple[str, ...] = get_args(Outcome)
PLAIN = ("number", "sequence", "kind", "reference", "outcome", "revision", "note", "file", "bytes", "sha256")


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


def to_json(event: Event) -> str:
    """Return the event as JSON text that carries the SHA-256 of its own content."""
    body = json.loads(json.dumps(asdict(event), default=str))
    return jsons.dump({"check": _check(body), **body})


def _check(body: Mapping[str, Any]) -> str:
    plain = json.dumps(body, sort_keys=True, ensure_ascii=True, separators=(",", ":"))
    return hashlib.sha256(plain.encode()).hexdigest()


def from_json(content: str | bytes, where: str = "record.json") -> Event:
    """Return the event written in `content`.

    Raises:
        InputError: it cannot be read, or is not what was filed.
    """
    return jsons.load(content, where, _event)


def _event(body: Mapping[str, Any]) -> Event:
    plain = {name: value for name, value in body.items() if name != "check"}
    if body["check"] != _check(plain):
        raise ValueError("it is not what was filed")
    if body["kind"] not in KINDS or body["outcome"] not in ("", *OUTCOMES):
        raise ValueError(f"{body['kind']!r} {body['outcome']!r} is no event")
    return Event(
        **{name: body[name] for name in PLAIN},
        date=dt.date.fromisoformat(body["date"]),
        amount=Decimal(body["amount"]),
        spent=Spent(_pairs(body["spent"]["hours"]), _pairs(body["spent"]["costs"])),
    )


def _pairs(rows: list[list[str]]) -> tuple[tuple[str, Decimal], ...]:
    return tuple((str(name), Decimal(value)) for name, value in rows)
