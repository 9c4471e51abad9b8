"""Inputs that only the program applies: each said with its unit, and with its row where there are several."""

from datetime import date
from decimal import Decimal as D

from estimator.calc.tables import Draft
from estimator.tables.as_run import as_run, unread


def test_each_input_says_its_unit_and_its_row() -> None:
    form = Draft("practice", "Practice", "across")
    form.input("kerf", "Saw kerf", "in", [D("0.125")])
    form.input("floor", "Warn under a margin of", "%", [D("0.15")])
    taxes = Draft("taxes", "Taxes")
    taxes.keys(["first", "second"])
    taxes.input("back", "Given back", "", ["yes", "no"], choices=["yes", "no"])
    numbers, choices = as_run(unread((form.table(), taxes.table()), ()))
    assert numbers["key"].values == ("practice-kerf", "practice-floor")
    assert numbers["input"].values == ("Saw kerf", "Warn under a margin of")
    assert numbers["unit"].values == ("in", "of 1")
    assert choices["key"].values == ("taxes-back-first", "taxes-back-second")
    assert choices["input"].values == ("Taxes, row 1: Given back", "Taxes, row 2: Given back")
    assert [f.key for f in choices.fields] == ["key", "input", "found", "now", "differs"]


def test_a_row_goes_by_the_words_that_stand_in_it() -> None:
    prices = Draft("prices", "Price list")
    prices.keys(["a", "b"])
    prices.link("item", "Item", ["a", "b"])
    prices.label("dated", "Price date", [date(2026, 1, 15)] * 2, unit="date")
    prices.label("description", "Description", ["Plain cloth", ""])
    prices.input("holds", "Holds", "yd", [D(1), D(50)])
    numbers, _ = as_run(unread((prices.table(),), ()))
    assert numbers["input"].values == ("Price list, Plain cloth: Holds", "Price list, row 2: Holds")


def test_an_input_that_only_a_check_reads_follows_there() -> None:
    form = Draft("terms", "Terms", "across")
    form.input("days", "Quote holds for", "day", [D(30)])
    floor = form.input("floor", "Warn under a margin of", "%", [D("0.15")])
    assert [field.key for _, field, _ in unread((form.table(),), (), [floor.at().le(1)])] == ["days"]
