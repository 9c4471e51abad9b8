"""Numbers as they are shown, and what an input may hold in plain words."""

import datetime as dt
from decimal import Decimal as D
from typing import Any

import pytest

from estimator.calc.expressions import Field, Value
from estimator.calc.tables import Draft
from estimator.workbook.shown import allowed, number_format, shown, sort_of


def an_input(unit: str = "in", value: Value = D(1), **more: Any) -> Field:
    return Draft("form", "Form", "across").input("size", "Size", unit, [value], **more)


@pytest.mark.parametrize(
    ("unit", "value", "places", "form", "text"),
    [
        ("in", D("48.0625"), 2, "#,##0.00##", "48.0625"),
        ("in", D(24), 4, "#,##0.0###", "24.0"),
        ("in", D("0.125"), 4, "#,##0.0###", "0.125"),
        ("$", D("1234.5"), 2, "#,##0.00##", "1,234.50"),
        ("people", D(2), 0, "#,##0", "2"),
        ("%", D("0.285"), 1, "0.0%", "28.5%"),
        ("%", D("0.08875"), 3, "0.0##%", "8.875%"),
        ("date", dt.date(2026, 3, 1), 2, "d mmm yyyy", "1 Mar 2026"),
        ("", "oak", 2, "@", "oak"),
    ],
)
def test_an_input_hides_nothing_of_what_was_typed(
    unit: str, value: Value, places: int, form: str, text: str
) -> None:
    field = an_input(unit, value, places=places)
    assert (number_format(field, sort_of(field)), shown(value, field)) == (form, text)


def test_numbers_of_a_column_have_as_many_decimals_each() -> None:
    """All as many as the longest; of several units to three only: 5,000.0000 of a box says nothing."""
    table = Draft("rows", "Rows")
    table.keys(["a", "b"])
    wide = table.input("wide", "Width", "in", [D("48.0625"), D(95)], places=2)
    alpha = table.input("alpha", "Share", "", [D("0.67"), D("0.816")], places=2)
    holds = table.input("holds", "Holds", "", [D("473.1765"), D(5000)], places=3)
    found = [(number_format(f, "number"), [shown(v, f) for v in f.values]) for f in (wide, alpha, holds)]
    assert found == [
        ("#,##0.0000", ["48.0625", "95.0000"]),
        ("#,##0.000#", ["0.670", "0.816"]),
        ("#,##0.0###", ["473.1765", "5,000.0"]),
    ]


def test_a_result_shows_its_decimals_and_no_more() -> None:
    form = Draft("form", "Form", "across")
    half = form.decided("half", "Half", "in", [D("12.061725")])
    field = form.formula("size", "Size", "in", half + half, places=3)
    assert (number_format(field, "number"), shown(D("24.12345"), field)) == ("#,##0.000", "24.123")


def test_what_was_decided_shows_more_than_two_decimals_where_it_has_them() -> None:
    field = Draft("form", "Form", "across").decided("size", "Size", "in", [D("24.12345")], places=4)
    assert number_format(field, "number") == "#,##0.00##"
    assert (shown(D("24.12345"), field), shown(D("2350.0000"), field)) == ("24.1234", "2,350.00")


@pytest.mark.parametrize(
    ("field", "text"),
    [
        (an_input(low=D(4), high=D(120)), "4 to 120 in"),
        (an_input("%", low=D(0), high=D("0.5")), "0 to 50 %"),
        (an_input(low=D(0)), "0 in or more"),
        (an_input(high=D(9)), "9 in or less"),
        (an_input(low=D(12), high=D(12)), "always 12 in"),
        (an_input(low=D(10) / D("25.4")), "0.3937 in or more"),
        (an_input(), "a number of in"),
        (an_input("", "a", choices=("a", "b", "c")), "a, b or c"),
        (an_input("", "a"), "text"),
        (an_input("date", low=dt.date(2026, 1, 1)), "1 Jan 2026 or later"),
        (an_input("date", None), "a date"),
    ],
)
def test_what_is_allowed_is_said_in_words(field: Field, text: str) -> None:
    assert allowed(field) == text
