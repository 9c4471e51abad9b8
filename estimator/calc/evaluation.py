"""Evaluate expressions in `Decimal`, with the spreadsheet's meaning of each function.

Source: function meanings as in OASIS OpenFormula 1.2 (ISO/IEC 26300-2), restricted to the cases used.

A rule written once as an expression, worked out for numbers that stand in no table.
"""

from __future__ import annotations

from collections.abc import Callable
from decimal import ROUND_DOWN, ROUND_HALF_UP, ROUND_UP, Decimal, DivisionByZero, InvalidOperation
from functools import lru_cache, partial

from estimator.calc.expressions import (
    All,
    At,
    Block,
    Call,
    Const,
    Expr,
    Field,
    Heads,
    KeyAt,
    Op,
    Stack,
    StackKeys,
    Value,
)
from estimator.core.money import decimal

ZERO, ONE = Decimal(0), Decimal(1)


class CellError(Exception):
    """What a spreadsheet would show as an error in the cell: no match, division by zero."""


def number(value: Value) -> Decimal:
    """Return a cell's value as a number; an empty cell counts as 0.

    Raises:
        CellError: text where a number is needed.
    """
    if value is None:
        return ZERO
    if isinstance(value, Decimal):
        return value
    raise CellError(f"{value!r} is not a number")


def _divide(a: Decimal, b: Decimal) -> Decimal:
    try:
        return a / b
    except (DivisionByZero, InvalidOperation):
        raise CellError("division by zero") from None


_ARITHMETIC: dict[str, Callable[[Decimal, Decimal], Decimal]] = {
    "+": lambda a, b: a + b,
    "-": lambda a, b: a - b,
    "*": lambda a, b: a * b,
    "/": _divide,
}
_COMPARE: dict[str, Callable[[Decimal, Decimal], bool]] = {
    ">": lambda a, b: a > b,
    ">=": lambda a, b: a >= b,
    "<": lambda a, b: a < b,
    "<=": lambda a, b: a <= b,
}


def _same(a: Value, b: Value) -> bool:
    if isinstance(a, str) or isinstance(b, str):
        return str(a if a is not None else "").casefold() == str(b if b is not None else "").casefold()
    if isinstance(a, Decimal | None) and isinstance(b, Decimal | None):
        return number(a) == number(b)
    return a == b


def _operate(op: Op, row: int) -> Value:
    left, right = evaluate(op.left, row), evaluate(op.right, row)
    if op.sign == "=":
        return ONE if _same(left, right) else ZERO
    if op.sign in _COMPARE:
        return ONE if _COMPARE[op.sign](number(left), number(right)) else ZERO
    return _ARITHMETIC[op.sign](number(left), number(right))


def _column(expr: Expr) -> Field:
    if isinstance(expr, All):
        return expr.field
    raise CellError("a range is needed here")


def _numbers(args: tuple[Expr, ...], row: int) -> list[Decimal]:
    """Return the numbers of ranges and single cells, text and blanks in ranges left out."""
    out: list[Decimal] = []
    for arg in args:
        if isinstance(arg, All):
            out += [v for v in arg.field.values if isinstance(v, Decimal)]
        else:
            out.append(number(evaluate(arg, row)))
    return out


def _folded(value: Value) -> Value:
    """Return text as it compares: a spreadsheet does not tell capitals from small letters."""
    return value.casefold() if isinstance(value, str) else value


@lru_cache(maxsize=512)
def _rows_of(field: Field) -> dict[Value, list[int]]:
    """Return the rows in which each value of a finished field stands."""
    rows: dict[Value, list[int]] = {}
    for row, value in enumerate(field.values):
        rows.setdefault(_folded(value), []).append(row)
    return rows


def _match(call: Call, row: int) -> Decimal:
    wanted = _folded(evaluate(call.args[0], row))
    where = call.args[1]
    if isinstance(where, Heads | StackKeys):
        found = [i for i, f in enumerate(where.fields) if _folded(f.key) == wanted]
    else:
        found = _rows_of(_column(where)).get(wanted, [])
    if not found or wanted is None:
        raise CellError(f"{wanted!r} is not in the list")
    return Decimal(found[0] + 1)


def _index(call: Call, row: int) -> Value:
    at = int(number(evaluate(call.args[1], row))) - 1
    where = call.args[0]
    if isinstance(where, Block):
        column = int(number(evaluate(call.args[2], row))) - 1
        return where.fields[column].values[at]
    if isinstance(where, Stack):
        return where.fields[at].values[0]
    return _column(where).values[at]


def _sumifs(call: Call, row: int) -> Decimal:
    keep: set[int] | None = None
    for field, wanted in zip(call.args[1::2], call.args[2::2], strict=True):
        rows = _rows_of(_column(field)).get(_folded(evaluate(wanted, row)), [])
        keep = set(rows) if keep is None else keep.intersection(rows)
    values = _column(call.args[0]).values
    return sum((number(values[i]) for i in sorted(keep or ())), ZERO)


def _sumproduct(call: Call, _row: int) -> Decimal:
    out = ZERO
    for cells in zip(*(_column(a).values for a in call.args), strict=True):
        term = ONE
        for cell in cells:
            term *= cell if isinstance(cell, Decimal) else ZERO
        out += term
    return out


def _iferror(call: Call, row: int) -> Value:
    try:
        return evaluate(call.args[0], row)
    except CellError:
        return evaluate(call.args[1], row)


def _rounded(way: str, call: Call, row: int) -> Decimal:
    value, places = (number(evaluate(a, row)) for a in call.args)
    return decimal(value).quantize(ONE.scaleb(-int(places)), way)


def _sqrt(call: Call, row: int) -> Decimal:
    value = number(evaluate(call.args[0], row))
    if value < 0:
        raise CellError("root of a negative number")
    return value.sqrt()


def _ln(call: Call, row: int) -> Decimal:
    value = number(evaluate(call.args[0], row))
    if value <= 0:
        raise CellError("logarithm of nothing")
    return value.ln()


def _countif(call: Call, row: int) -> Decimal:
    wanted = evaluate(call.args[1], row)
    return Decimal(sum(1 for v in _column(call.args[0]).values if v is not None and _same(v, wanted)))


def _counta(call: Call, _row: int) -> Decimal:
    cells = (v for arg in call.args for v in (arg.fields if isinstance(arg, Stack) else _column(arg).values))
    return Decimal(sum(1 for v in cells if (v.values[0] if isinstance(v, Field) else v) is not None))


def _is_formula(call: Call, _row: int) -> Decimal:
    return ONE if isinstance(at := call.args[0], At) and at.field.exprs else ZERO


_FUNCTIONS: dict[str, Callable[[Call, int], Value]] = {
    "SUM": lambda c, r: sum(_numbers(c.args, r), ZERO),
    "MAX": lambda c, r: max(_numbers(c.args, r), default=ZERO),
    "MIN": lambda c, r: min(_numbers(c.args, r), default=ZERO),
    "SUMIFS": _sumifs,
    "SUMPRODUCT": _sumproduct,
    "COUNTIF": _countif,
    "COUNTA": _counta,
    "ISFORMULA": _is_formula,
    "MATCH": _match,
    "INDEX": _index,
    "IF": lambda c, r: evaluate(c.args[1 if number(evaluate(c.args[0], r)) else 2], r),
    "IFERROR": _iferror,
    "ROUND": partial(_rounded, ROUND_HALF_UP),
    "ROUNDUP": partial(_rounded, ROUND_UP),
    "ROUNDDOWN": partial(_rounded, ROUND_DOWN),
    "SQRT": _sqrt,
    "LN": _ln,
    "AND": lambda c, r: ONE if all(number(evaluate(a, r)) for a in c.args) else ZERO,
    "OR": lambda c, r: ONE if any(number(evaluate(a, r)) for a in c.args) else ZERO,
}


def evaluate(expr: Expr, row: int) -> Value:
    """Return the value of `expr` in row (or case) `row`.

    Raises:
        CellError: where a spreadsheet would show an error.
    """
    if isinstance(expr, Const):
        return Decimal(expr.value) if isinstance(expr.value, int) else expr.value
    if isinstance(expr, Field):
        return expr.values[row]
    if isinstance(expr, At):
        return expr.field.values[expr.index]
    if isinstance(expr, KeyAt):
        return expr.field.label if expr.right else expr.field.key
    if isinstance(expr, Op):
        return _operate(expr, row)
    if isinstance(expr, Call):
        return _FUNCTIONS[expr.name](expr, row)
    raise CellError("a range cannot stand alone in a cell")


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
