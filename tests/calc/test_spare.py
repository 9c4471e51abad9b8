"""A spare row shows what a spreadsheet shows in a row of blanks: 0, or what IFERROR says."""

from decimal import Decimal as D

import pytest

from estimator.calc.evaluation import CellError
from estimator.calc.expressions import call
from estimator.calc.tables import Draft, padded


def draft() -> Draft:
    out = Draft("prices", "Prices", spare=2)
    out.keys(["clips"])
    out.input("price", "Price", "$", [D(10)])
    out.input("pack", "Pack", "", [D(4)])
    return out


def test_formulas_reach_down_the_spare_rows() -> None:
    prices = draft()
    _, price, pack = prices.fields
    prices.formula("each", "Each", "$", call("IFERROR", price / pack, 0))
    prices.formula("double", "Double", "$", price * 2)
    full = padded(prices.table())
    assert full["key"].values == ("clips", "spare-1", "spare-2")
    assert full["price"].values == (D(10), None, None)
    assert full["each"].values == (D("2.5"), D(0), D(0))
    assert full["double"].values == (D(20), D(0), D(0))


def test_an_error_on_blanks_is_not_written() -> None:
    prices = draft()
    _, price, pack = prices.fields
    prices.formula("each", "Each", "$", price / pack)
    with pytest.raises(CellError):
        padded(prices.table())
