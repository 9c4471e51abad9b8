import datetime as dt
from dataclasses import replace
from pathlib import Path

import pytest

from estimator.catalogue.load import DATA
from estimator.catalogue.price_list import doubts, read_price_list
from estimator.catalogue.references import density_kg_m3, nominal_size
from estimator.core.units import INCH

DAY = dt.date(2026, 3, 1)


@pytest.mark.parametrize(
    ("text", "size"),
    [
        ("2x2, spruce, planed, 8 ft", "2x2"),
        ("Spruce 2 x 4", "2x4"),
        ("38 x 38 mm, planed", ""),
        ("Block, 2 x 4 in", ""),
        ("12x2 plank", ""),
    ],
)
def test_the_nominal_size_a_description_names(text: str, size: str) -> None:
    assert nominal_size(text) == size


def test_a_member_as_wide_as_it_is_called_is_doubted() -> None:
    items = list(read_price_list(DATA / "prices.csv"))
    at = next(i for i, item in enumerate(items) if item.product == "member-2x4")
    items[at] = replace(items[at], thickness=2 * INCH, width=4 * INCH)
    (found,) = doubts(items, "p.csv")
    assert found.what == 'a planed 2x4 is 1-1/2" x 3-1/2"'


def test_a_member_without_density_gets_it_from_its_gravity(tmp_path: Path) -> None:
    path = tmp_path / "prices.csv"
    text = (DATA / "prices.csv").read_text(encoding="utf-8")
    path.write_text(text.replace(",450 kg/m^3,0.42,", ",,0.42,"), encoding="utf-8")
    members = [i for i in read_price_list(path) if i.kind == "member"]
    assert members
    assert {i.density_kg_m3 for i in members if i.specific_gravity == 0.42} == {density_kg_m3(0.42)}
