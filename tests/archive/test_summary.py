"""A quote's record goes through JSON without losing a cent, and does not add up wrongly into the archive."""

import datetime as dt
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.archive import summary
from estimator.archive.summary import PaymentStep, QuoteLine, Summary
from estimator.core.errors import InputError

Make = Callable[..., Summary]


def test_the_record_comes_back_as_it_was(make_quote: Make) -> None:
    hours = (("Cut", Decimal("4.5")), ("Fit", Decimal(8)))
    quote = make_quote(client="Café “Zoë” <&>", revision=None, valid_until=None, hours=hours)
    assert summary.from_json(summary.to_json(quote)) == quote


def test_no_cent_is_lost(make_quote: Make) -> None:
    text = summary.to_json(make_quote(area_m2=Decimal("0.1")))
    assert '"area_m2": "0.1"' in text
    assert '"total": "5457.90"' in text


@given(st.decimals(allow_nan=False, allow_infinity=False, places=2), st.text(max_size=40), st.dates())
def test_any_amount_text_and_date_survive(amount: Decimal, text: str, day: dt.date) -> None:
    line = QuoteLine(text, text, amount, text, amount)
    quote = replace(_bare(), lines=(line,), date=day, title=text)
    assert summary.from_json(summary.to_json(quote)) == quote


def _bare() -> Summary:
    none = Decimal(0)
    totals = summary.FiledTotals(*[none] * 10)
    return Summary("1", 0, "c", "", "", dt.date(2026, 1, 1), "CAD", totals, (), (), none, none, (), "0")


def test_the_quote_worked_by_hand_adds_up(make_quote: Make) -> None:
    assert make_quote().problems() == ()


@pytest.mark.parametrize(
    "field", ["materials", "labour", "other", "overhead", "contingency", "cost", "profit", "price"]
)
def test_one_cent_too_much_is_refused(make_quote: Make, field: str) -> None:
    good = make_quote()
    totals = replace(good.totals, **{field: getattr(good.totals, field) + Decimal("0.01")})
    assert replace(good, totals=totals).problems()


def test_payments_that_do_not_add_up_are_refused(make_quote: Make) -> None:
    quote = make_quote(payments=(PaymentStep("Deposit", Decimal("1637.37")),))
    assert [p.where for p in quote.problems()] == ["totals.total"]


@pytest.mark.parametrize(
    ("changed", "where"),
    [
        ({"client": " "}, "client"),
        ({"currency": "dollars"}, "currency"),
        ({"revision": -1}, "revision"),
        ({"lines": ()}, "lines"),
        ({"area_m2": Decimal("NaN")}, "area_m2"),
        ({"days": Decimal("Infinity")}, "days"),
        ({"lines": (QuoteLine("", "x", Decimal(1), "", Decimal("0.005")),)}, "lines[0].amount"),
    ],
)
def test_fields_of_no_use_are_named(make_quote: Make, changed: dict[str, object], where: str) -> None:
    assert where in [p.where for p in make_quote(**changed).problems()]


@pytest.mark.parametrize(
    "text",
    [
        "",
        "{",
        "[]",
        "null",
        '{"schema": 1}',
        '{"schema": 2}',
        '{"schema": 1, "number": 4}',
        "\x00",
        "[" * 9999,
    ],
)
def test_damaged_json_is_a_problem_not_a_crash(text: str) -> None:
    with pytest.raises(InputError):
        summary.from_json(text)
