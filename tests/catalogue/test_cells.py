"""Cells of a price list that hold more than text."""

import pytest

from estimator.catalogue.price_list import COLUMNS
from estimator.catalogue.records import KINDS, Item
from estimator.core.units import known_units


@pytest.mark.parametrize(
    ("column", "cell", "value"),
    [
        ("absorption", "0.10 0.30 .75 1 1.05 0.9", (0.10, 0.30, 0.75, 1.0, 1.05, 0.9)),
        ("nap", "Yes", True),
        ("railroad", "no", False),
        ("lead days", "10", 10),
        ("specific gravity", "0.42", 0.42),
        ("density", "3 lb/ft^3", 48.0554),  # 3 x 0.45359237 / 0.3048^3
        ("cloth mass", "290 g/m^2", 0.290),
        ("rated load", "100 lbf", 444.822),  # 100 x 0.45359237 x 9.80665
    ],
)
def test_what_a_cell_says(column: str, cell: str, value: object) -> None:
    assert COLUMNS[column][1](cell) == (pytest.approx(value) if isinstance(value, float) else value)


@pytest.mark.parametrize(
    ("column", "cell"),
    [
        ("description", "two\nlines"),
        ("section", "Frames\tand trim"),
        ("absorption", "0.1 0.2 0.3"),
        ("absorption", "0.1 0.2 0.3 0.4 0.5 -0.6"),
        ("absorption", "0.1, 0.2, 0.3, 0.4, 0.5, 0.6"),
        ("nap", "maybe"),
        ("lead days", "-1"),
        ("lead days", "1.5"),
        ("lead days", "²"),
        ("density", "48"),
        ("repeat", "9"),
    ],
)
def test_what_a_cell_cannot_say(column: str, cell: str) -> None:
    with pytest.raises(ValueError, match="; "):
        COLUMNS[column][1](cell)


def test_the_tables_of_columns_name_only_what_there_is() -> None:
    assert {name for kind in KINDS.values() for name in kind.needs} <= set(COLUMNS)
    assert all(known_units(kind.content) for kind in KINDS.values())
    sides = {side for kind in KINDS.values() for side in (*kind.stock.shared, *kind.stock.cut)}
    assert sides <= set(Item.__dataclass_fields__)
    fields = set(Item.__dataclass_fields__) - {"content_unit", "line"}
    assert {field for field, _ in COLUMNS.values()} == fields
