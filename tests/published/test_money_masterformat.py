"""Titles of sections.

Source: CSI MasterFormat. 09 84 33 was read in a published school specification; the others are from memory.
"""

import pytest

from estimator.catalogue.load import DATA, PRICES
from estimator.catalogue.price_list import cost_code_titles, read_price_list


@pytest.mark.parametrize(("code", "title"), [
    ("06 10 53", "Miscellaneous Rough Carpentry"),
    ("07 92 00", "Joint Sealants"),
    ("09 77 13", "Stretched-Fabric Wall Systems"),
    ("09 81 00", "Acoustic Insulation"),
    ("09 84 13", "Fixed Sound-Absorptive Panels"),
    ("09 84 33", "Sound-Absorbing Wall Units"),
    ("09 91 23", "Interior Painting"),
])  # fmt: skip
def test_title_of_a_section(code: str, title: str) -> None:
    assert cost_code_titles()[code] == title


@pytest.mark.parametrize("name", list(PRICES))
def test_every_section_of_the_shipped_lists_is_known(name: str) -> None:
    codes = {item.cost_code for item in read_price_list(DATA / PRICES[name])}
    assert codes <= set(cost_code_titles())
