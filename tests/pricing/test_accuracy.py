"""What is known of a job, and so which class of estimate may be claimed."""

import datetime as dt
from dataclasses import replace
from decimal import Decimal as D

import pytest

from estimator.catalogue.labour import LabourBook, load_labour
from estimator.catalogue.load import DATA
from estimator.catalogue.price_list import read_price_list
from estimator.catalogue.records import Item
from estimator.catalogue.references import estimate_classes
from estimator.pricing.accuracy import SCOPE, estimate_class, known_of

DAY = dt.date(2026, 3, 1)


def items(source: str = "quote 123 of the supplier") -> list[Item]:
    return [replace(i, source=source) for i in read_price_list(DATA / "prices.csv")]


def book(*learned: str) -> LabourBook:
    shipped = load_labour()
    tasks = [
        t.model_copy(update={"source": "learned from 4 jobs"}) if t.key in learned else t
        for t in shipped.tasks
    ]
    return shipped.model_copy(update={"tasks": tuple(tasks)})


def test_the_demonstration_lists_never_make_a_class_1() -> None:
    shipped = read_price_list(DATA / "prices.csv")
    known = known_of(shipped, load_labour(), {"wrap": D(9)}, DAY, 180)
    assert known == SCOPE
    assert estimate_class(known, estimate_classes()).number == 2


@pytest.mark.parametrize(
    ("day", "prices"), [(DAY, True), (dt.date(2026, 9, 1), False), (dt.date(2026, 1, 1), False)]
)
def test_prices_count_while_they_are_current(day: dt.date, prices: bool) -> None:  # noqa: FBT001
    known = known_of(items(), load_labour(), {"wrap": D(9)}, day, 180)
    assert ("prices" in known) is prices


@pytest.mark.parametrize(("wrap", "rates"), [("6", True), ("5", False)])
def test_rates_count_where_most_hours_follow_learned_ones(wrap: str, rates: bool) -> None:  # noqa: FBT001
    known = known_of(items(), book("wrap"), {"wrap": D(wrap), "hang": D(5)}, DAY, 180)
    assert ("rates" in known) is rates
    assert estimate_class(known, estimate_classes()).number == (1 if rates else 2)
