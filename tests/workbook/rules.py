"""The rules a delivered workbook keeps, each a function that reads the file and returns its breaches.

Anchors: ICAEW, Twenty principles for good spreadsheet practice; FAST Standard; findings of EuSpRIG on
spreadsheet error; ISO/IEC 29500 for the file itself. Nothing here leans on the writer under test.
"""

from collections.abc import Callable, Iterator

from estimator.core.errors import Problem
from tests.workbook.delivered import Delivered
from tests.workbook.rules_of_formulas import (
    known_functions,
    no_hidden_numbers,
    no_nested_if,
    nothing_twice,
    one_direction,
    one_formula_a_column,
    short_formulas,
)
from tests.workbook.rules_of_sheets import (
    about_first,
    checked_totals,
    checks_trip,
    contents_complete,
    heads_and_units,
    inputs_only_open,
    one_role,
    whole_file,
)

RULES: tuple[Callable[[Delivered], Iterator[Problem]], ...] = (
    one_role, about_first, contents_complete, no_hidden_numbers, one_formula_a_column, short_formulas,
    no_nested_if, known_functions, nothing_twice, heads_and_units, one_direction, checked_totals,
    inputs_only_open, checks_trip, whole_file,
)  # fmt: skip


def breaches(raw: bytes) -> dict[str, list[Problem]]:
    """Return every breach by the name of the rule broken; {} for a workbook that keeps them all."""
    file = Delivered(raw)
    found = {rule.__name__: list(rule(file)) for rule in RULES}
    return {name: problems for name, problems in found.items() if problems}
