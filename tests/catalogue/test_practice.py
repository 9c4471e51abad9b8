"""Shop practice: shipped values are in range and cited; a shop's own is laid over them."""

from decimal import Decimal

import pytest

from estimator.catalogue.load import DATA, PRICES, shipped_practice
from estimator.catalogue.practice import read_practice
from estimator.catalogue.price_list import read_price_list
from estimator.catalogue.records import Practice
from estimator.core.errors import Problem
from estimator.core.units import INCH, MM
from estimator.job.document import parse_document, read_document


def _over(text: str) -> tuple[Practice, list[Problem]]:
    return read_practice(parse_document(f'name = "Ours"\n{text}', "practice.toml"), shipped_practice())


def _value(key: str, value: str) -> str:
    return f'[values.{key}]\nvalue = "{value}"\nsource = "our way"\n'


def test_every_shipped_value_has_a_label_a_range_and_a_source() -> None:
    for value in shipped_practice().values.values():
        assert value.label != value.key
        assert value.low <= value.value <= value.high
        assert value.low < value.high
        assert value.source


def test_lengths_are_nanometres_and_the_rest_is_in_one_unit_whatever_is_written() -> None:
    practice = shipped_practice()
    assert practice.length("stud_spacing") == 24 * INCH
    assert practice.length("fabric_step") == 9 * INCH
    assert practice.number("waste_member") == pytest.approx(0.10)
    # 350 ft2 a US gallon is 8.59 m2 a litre: 350 x 0.09290304 / 3.785411784.
    assert practice.number("spread_rate") == pytest.approx(8.5898, abs=1e-4)
    rate = practice.values["spread_rate"]
    assert (rate.unit, rate.shown, rate.shown_unit) == ("m^2/L", Decimal(350), "ft^2/gal")


def test_a_length_is_not_a_number_nor_the_other_way_round() -> None:
    with pytest.raises(KeyError, match="length"):
        shipped_practice().number("stud_spacing")
    with pytest.raises(KeyError, match="not a length"):
        shipped_practice().length("coats")


def test_a_shops_own_practice_changes_what_it_names_and_nothing_else() -> None:
    base = shipped_practice()
    practice, problems = _over(_value("stud_spacing", "400 mm") + _value("spread_rate", "10 m^2/L"))
    assert problems == []
    assert practice.length("stud_spacing") == 400 * MM
    assert practice.number("spread_rate") == 10
    assert practice.values["stud_spacing"].label == base.values["stud_spacing"].label
    assert practice.values["stud_spacing"].source == "our way"
    changed = {key for key, value in practice.values.items() if value != base.values[key]}
    assert changed == {"stud_spacing", "spread_rate"}


def test_the_metric_practice_is_in_range_and_in_metric_units() -> None:
    base = shipped_practice()
    practice, problems = read_practice(read_document(DATA / "practice" / "metric.toml"), base)
    assert problems == []
    lengths = [value for value in practice.values.values() if value.dimension == "length"]
    assert {value.shown_unit for value in lengths} <= {"mm", "m"}
    for value in lengths:
        if value.key == "fabric_step":  # a tenth of a metre, not a rounded quarter yard
            continue
        assert value.value == pytest.approx(base.values[value.key].value, rel=0.15, abs=MM)


@pytest.mark.parametrize(
    ("text", "part"),
    [
        (_value("stud_spaceing", "16 in"), "no such practice value"),
        (_value("saw_kerf", "3 in"), "outside its range"),
        (_value("saw_kerf", "3"), "not in a unit of length"),
        (_value("coats", "2 mm"), "not in a unit of count"),
        ('[choices.corner_rule]\nvalue = "weld"\nsource = "ours"\n', "no choice here"),
        ('[choices.colour]\nvalue = "red"\nsource = "ours"\n', "no such choice"),
        ('[values.coats]\nvalue = "2"\ndimension = "mass"\nsource = "ours"\n', "another dimension"),
    ],
)
def test_what_is_refused(text: str, part: str) -> None:
    _, problems = _over(text)
    assert [part in problem.what for problem in problems] == [True]
    assert problems[0].line > 1


@pytest.mark.parametrize("name", sorted(PRICES))
def test_every_product_the_practice_chooses_is_in_both_price_lists(name: str) -> None:
    kinds = {item.product: item.kind for item in read_price_list(DATA / PRICES[name])}
    for choice in shipped_practice().choices.values():
        if choice.kind:
            assert kinds[choice.value] == choice.kind
