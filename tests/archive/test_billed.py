"""Rows typed on Actuals against what is filed: figures by hand."""

import datetime as dt
from decimal import Decimal as D

import pytest

from estimator.archive.billed import Row, billed, rows_of
from estimator.archive.events import Event
from estimator.core.errors import InputError

DAY, LATER = dt.date(2026, 3, 9), dt.date(2026, 4, 30)
ROW = Row("invoice-1", "INV-1", DAY, D("300.00"), D("100.00"))
INVOICE = Event("7", 1, "invoice", DAY, D("300.00"), "inv-1")


def test_blank_rows_are_no_rows() -> None:
    inputs = {
        f"invoices.{f}.invoice-{n}": None for f in ("number", "date", "amount", "received") for n in (1, 2)
    }
    assert rows_of(inputs) == ()
    typed = {**inputs, "invoices.number.invoice-2": " A ", "invoices.amount.invoice-2": D(5)}
    assert rows_of(typed) == (Row("invoice-2", "A", None, D(5), None),)


def test_what_is_filed_is_left_alone_and_the_rest_of_a_payment_filed() -> None:
    """100 received and 60 filed leaves 40; capitals of the number do not matter."""
    assert billed([ROW], [INVOICE, Event("7", 2, "paid", DAY, D(60), "INV-1")], "7", LATER) == (
        Event("7", 0, "paid", LATER, D("40.00"), "INV-1"),
    )


def test_a_credit_paid_back_counts_downwards() -> None:
    row = Row("invoice-2", "CR-1", DAY, D(-50), D(-50))
    filed = [Event("7", 1, "invoice", DAY, D(-50), "CR-1"), Event("7", 2, "paid", DAY, D(-20), "CR-1")]
    assert billed([row], filed, "7", LATER) == (Event("7", 0, "paid", LATER, D(-30), "CR-1"),)


def test_every_contradiction_is_told_at_once() -> None:
    rows = [Row("invoice-1", "", None, D(5), None), Row("invoice-2", "INV-1", DAY, D(1), D("0.001"))]
    with pytest.raises(InputError) as refusal:
        billed(rows, [INVOICE, Event("7", 2, "paid", DAY, D(60), "INV-1")], "7", LATER)
    assert [p.where for p in refusal.value.problems] == [
        "Actuals, invoice-1", "Actuals, invoice-1", *["Actuals, invoice-2 (INV-1)"] * 3,
    ]  # fmt: skip
