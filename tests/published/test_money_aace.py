"""Classes of estimates: the ranges as published, and what is claimed of a job.

Source: AACE International 18R-97, table 1: outer ends and percent of definition read in a published
excerpt, inner ends from memory. 56R-08, which is the one used for buildings: from memory.
"""

from itertools import pairwise

import pytest

from estimator.catalogue.references import estimate_classes
from estimator.pricing.accuracy import estimate_class

SURVEYED = ("survey", "layout", "make_up", "quantities")


@pytest.mark.parametrize(("number", "low", "high"), [
    (5, (20, 50), (30, 100)), (4, (15, 30), (20, 50)), (3, (10, 20), (10, 30)),
])  # fmt: skip
def test_ranges_of_18r_97(number: int, low: tuple[int, int], high: tuple[int, int]) -> None:
    classes = {c.number: c for c in estimate_classes().practice("process").classes}
    assert (classes[number].low, classes[number].high) == (low, high)


@pytest.mark.parametrize("practice", ["process", "buildings"])
def test_percent_defined(practice: str) -> None:
    found = {c.number: c.defined for c in estimate_classes().practice(practice).classes}
    assert found == {5: (0, 2), 4: (1, 15), 3: (10, 40), 2: (30, 75), 1: (65, 100)}


@pytest.mark.parametrize("practice", ["process", "buildings"])
def test_better_classes_are_narrower(practice: str) -> None:
    classes = estimate_classes().practice(practice).classes
    for worse, better in pairwise(classes):
        assert max(better.low) < max(worse.low)
        assert max(better.high) < max(worse.high)


def test_deliverables_make_up_the_whole() -> None:
    assert sum(d.share for d in estimate_classes().deliverables) == 100


@pytest.mark.parametrize(("known", "number"), [
    ((), 5), (("survey",), 3), (("survey", "layout"), 3), (SURVEYED, 2), ((*SURVEYED, "prices"), 2),
    ((*SURVEYED, "prices", "rates"), 1), (("layout", "make_up", "quantities", "prices", "rates"), 4),
])  # fmt: skip
def test_class_of_what_is_known(known: tuple[str, ...], number: int) -> None:
    assert estimate_class(known, estimate_classes()).number == number


def test_the_reason_names_what_is_missing() -> None:
    got = estimate_class(SURVEYED, estimate_classes())
    assert got.defined == 75
    assert got.text.startswith("Class 2 estimate by AACE International 56R-08")
    assert "5-10 % under or 5-15 % over" in got.text
    assert "Missing for the next class: prices by the suppliers, not out of date; labour rates" in got.text
    assert "from memory" in got.text


def test_an_unknown_deliverable_is_no_silent_nothing() -> None:
    with pytest.raises(KeyError, match="no such deliverable: surwey"):
        estimate_class(["surwey"], estimate_classes())
