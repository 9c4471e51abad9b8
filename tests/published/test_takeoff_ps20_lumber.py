"""Sizes that softwood is planed to.

Source: PS 20-20, American Softwood Lumber Standard, tables 2 and 3, least dressed sizes, dry. The 2x4 and the
thicknesses of 1-by and 2-by were read in a published excerpt; the others are from memory.
"""

from fractions import Fraction

import pytest

from estimator.catalogue.load import DATA
from estimator.catalogue.price_list import read_price_list
from estimator.catalogue.references import dressed_sizes, nominal_size
from estimator.core.units import INCH

SIZES = {
    "1x2": ("3/4", "3/2"),
    "1x3": ("3/4", "5/2"),
    "1x4": ("3/4", "7/2"),
    "1x6": ("3/4", "11/2"),
    "2x2": ("3/2", "3/2"),
    "2x3": ("3/2", "5/2"),
    "2x4": ("3/2", "7/2"),
    "2x6": ("3/2", "11/2"),
    "2x8": ("3/2", "29/4"),
}


@pytest.mark.parametrize("nominal", sorted(SIZES.keys() | dressed_sizes()))
def test_dressed_size(nominal: str) -> None:
    thickness, width = (int(Fraction(text) * INCH) for text in SIZES[nominal])
    assert dressed_sizes()[nominal] == (thickness, width)


def test_the_shipped_members_have_the_sizes_they_are_called_by() -> None:
    members = [i for i in read_price_list(DATA / "prices.csv") if i.kind == "member"]
    for item in members:
        assert (item.thickness, item.width) == dressed_sizes()[nominal_size(item.description)]
    assert {nominal_size(i.description) for i in members} >= {"2x2", "2x4"}
