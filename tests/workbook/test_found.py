"""Keys are looked for within limits, however a workbook was made to have many."""

import pytest

from estimator.core.errors import InputError
from estimator.intake.cells import Cell
from estimator.workbook.blocks import MARK
from estimator.workbook.found import MOST_BESIDE, MOST_TABLES, rows_of

MARKED = Cell(f"{MARK}:t:down")


def test_tables_side_by_side_are_counted_before_each_row_is_held_against_them() -> None:
    cells = {(1, column): MARKED for column in range(1, 2 * MOST_BESIDE, 1)}
    with pytest.raises(InputError, match="holds over 2,000 tables"):
        rows_of({"One": cells | {(2, 1): Cell("a")}})


def test_tables_are_counted() -> None:
    with pytest.raises(InputError, match="holds over 2,000 tables"):
        rows_of({"One": {(row, 1): MARKED for row in range(1, MOST_TABLES + 3)}})


def test_keyed_cells_are_counted() -> None:
    heads = {(1, column): Cell(f"h{column}") for column in range(2, 200)}
    rows = {(row, 1): Cell(f"k{row}") for row in range(2, 1_200)}
    with pytest.raises(InputError, match="holds over 200,000 cells with keys"):
        rows_of({"One": {(1, 1): MARKED} | heads | rows})
