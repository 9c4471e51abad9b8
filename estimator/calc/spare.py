"""Spare rows: a table with its blank rows filled in as a spreadsheet would show them."""

from dataclasses import replace

from estimator.calc.evaluation import evaluate
from estimator.calc.expressions import Call, Expr, Field, Op, Value
from estimator.calc.keys import row_keys
from estimator.calc.tables import Table


def _moved(expr: Expr, to: dict[Field, Field]) -> Expr:
    if isinstance(expr, Field):
        return to.get(expr, expr)
    if isinstance(expr, Op):
        return Op(expr.sign, _moved(expr.left, to), _moved(expr.right, to))
    if isinstance(expr, Call):
        return Call(expr.name, tuple(_moved(a, to) for a in expr.args))
    return expr


def padded(table: Table) -> Table:
    """Return `table` with its spare rows as cells: keyed, blank, each formula evaluated on blanks.

    Raises:
        CellError: a formula that a blank row makes an error; wrap it in IFERROR.
    """
    if table.orientation == "across" or not table.spare:
        return table
    rows = range(table.count, table.count + table.spare)
    moved: dict[Field, Field] = {}
    for field in table.fields:
        more: tuple[Value, ...] = (None,) * table.spare
        if field.kind == "key":
            more = row_keys(table)[table.count :]
        elif field.kind == "formula":
            expr = _moved(field.exprs[0], moved)
            more = tuple(evaluate(expr, row) for row in rows)
        moved[field] = replace(field, values=field.values + more)
    return replace(table, fields=tuple(moved.values()))
