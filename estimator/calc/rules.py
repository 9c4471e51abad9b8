"""A rule written once as an expression, worked out for numbers that stand in no table."""

from collections.abc import Callable
from decimal import Decimal

from estimator.calc.evaluation import evaluate, number
from estimator.calc.expressions import Expr, Field


def worked_out(rule: Callable[..., Expr], *numbers: Decimal) -> Decimal:
    """Return what a rule of the workbook gives for `numbers`, by evaluating its formula on a row of them.

    Args:
        rule: builds the formula from one operand for each number.
        numbers: in the units that the rule takes.

    Raises:
        CellError: where a spreadsheet would show an error, such as division by zero.
    """
    row = (Field("given", f"n{i}", "", "value", "", (n,)) for i, n in enumerate(numbers))
    return number(evaluate(rule(*row), 0))
