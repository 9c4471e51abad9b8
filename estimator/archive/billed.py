"""Invoices and what came in on them, from the rows that the office typed on the workbook's sheet Actuals.

The workbook says how things stand, and grows as the job goes on: what is filed already is left alone, what
is new is filed, and what contradicts the archive is refused. A payment is what was received beyond what is
filed.
"""

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from estimator.archive.events import Event
from estimator.archive.names import number_key
from estimator.calc.expressions import Value
from estimator.core.errors import Problem, refuse_all

HEAD = "invoices."
FIELDS = ("number", "date", "amount", "received")
CENT = Decimal("0.01")
STAYS = "What is filed stays; correct the workbook, or give a correction its own number."


@dataclass(frozen=True, slots=True)
class Row:
    """One row of the sheet as typed; None and '' where nothing is."""

    key: str
    number: str
    date: dt.date | None
    amount: Decimal | None
    received: Decimal | None

    @property
    def where(self) -> str:
        """Return the row as a person finds it."""
        return f"Actuals, {self.key}{f' ({self.number})' if self.number else ''}"


def rows_of(inputs: Mapping[str, Value]) -> tuple[Row, ...]:
    """Return the rows in which anything is typed, in the sheet's order."""
    head = f"{HEAD}number."
    keys = [key.removeprefix(head) for key in inputs if key.startswith(head)]
    rows = (Row(key, *_cells(inputs, key)) for key in keys)
    return tuple(row for row in rows if row.number or row.date or row.amount or row.received)


def _cells(
    inputs: Mapping[str, Value], key: str
) -> tuple[str, dt.date | None, Decimal | None, Decimal | None]:
    number, date, amount, received = (inputs.get(f"{HEAD}{field}.{key}") for field in FIELDS)
    return (
        str(number or "").strip(),
        date if isinstance(date, dt.date) else None,
        amount if isinstance(amount, Decimal) else None,
        received if isinstance(received, Decimal) else None,
    )


def billed(rows: Sequence[Row], filed: Sequence[Event], number: str, day: dt.date) -> tuple[Event, ...]:
    """Return the invoices and payments that the rows add to what is filed beside a quote.

    Args:
        rows: as typed.
        filed: everything filed beside the quote.
        number: the quote's.
        day: on which payments are dated: the sheet does not say when each came in.

    Raises:
        InputError: every row that is incomplete, stands twice, or contradicts what is filed.
    """
    refuse_all([*_unclear(rows), *(p for row in rows if row.number for p in _against(row, filed))])
    found = []
    for row in rows:
        if row.amount is not None and row.date is not None and _invoice(row, filed) is None:
            found.append(Event(number, 0, "invoice", row.date, row.amount, row.number))
        more = (row.received or Decimal(0)) - _received(row, filed)
        if row.received is not None and more:
            found.append(Event(number, 0, "paid", day, more, row.number))
    return tuple(found)


def _unclear(rows: Sequence[Row]) -> Iterator[Problem]:
    """Yield what is wrong with the rows by themselves."""
    seen = dict[str, Row]()
    for row in rows:
        if not number_key(row.number):
            yield Problem(row.where, "has no invoice number", "Write the number on the invoice.")
        elif (first := seen.setdefault(number_key(row.number), row)) is not row:
            yield Problem(row.where, f"stands already in {first.key}", "Keep one row for each invoice.")
        if row.amount is None:
            yield Problem(row.where, "has no amount", "Write what was invoiced, tax included.")
        if row.date is None:
            yield Problem(row.where, "has no date", "Write the date on the invoice.")
        for amount in (row.amount, row.received):
            if amount is not None and amount % CENT:
                yield Problem(row.where, f"{amount} is not whole cents", "Write the amount to the cent.")


def _against(row: Row, filed: Sequence[Event]) -> Iterator[Problem]:
    """Yield where a row contradicts what is filed."""
    invoice, received = _invoice(row, filed), _received(row, filed)
    if invoice is not None and (row.amount, row.date) != (invoice.amount, invoice.date):
        what = f"is filed as {invoice.amount} of {invoice.date}, and here it is {row.amount} of {row.date}"
        yield Problem(row.where, what, STAYS)
    if row.received is not None and abs(row.received) < abs(received):
        what = f"has {row.received} received, and payments of {received} are filed"
        yield Problem(row.where, what, "Write all that was received on it so far.")


def _invoice(row: Row, filed: Sequence[Event]) -> Event | None:
    key = number_key(row.number)
    return next((e for e in filed if e.kind == "invoice" and number_key(e.reference) == key), None)


def _received(row: Row, filed: Sequence[Event]) -> Decimal:
    key = number_key(row.number)
    return sum((e.amount for e in filed if e.kind == "paid" and number_key(e.reference) == key), Decimal(0))
