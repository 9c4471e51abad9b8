"""Render expressions as spreadsheet formulas, given where every field stands."""

import re

from openpyxl.utils import get_column_letter

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
)
from estimator.calc.tables import FieldAddresses, absolute, quoted

_STRENGTH = {"=": 0, ">": 0, ">=": 0, "<": 0, "<=": 0, "+": 1, "-": 1, "*": 2, "/": 2}
_ATOM = 3
IN_FILES = {"ISFORMULA": "_xlfn.ISFORMULA"}
"""Functions younger than the file format, by the names they have in files."""


_ONE_CELL = re.compile(r"(.*\$)([A-Z]+)\$(\d+):\$\2\$\3")


def _two_cells(area: str) -> str:
    """Return an area of one cell with the empty cell below it: a lone cell may count as no array."""
    one = _ONE_CELL.fullmatch(area)
    return f"{one[1]}{one[2]}${one[3]}:${one[2]}${int(one[3]) + 1}" if one else area


def _exact(values: str, *conditions: str) -> str:
    """Return a sum over the rows where texts are equal: SUMIFS would read 06 as 6 and TRUE as truth."""
    pairs = zip(conditions[::2], conditions[1::2], strict=True)
    equal = [f"({_two_cells(area)}={wanted})" for area, wanted in pairs]
    return f"SUMPRODUCT({'*'.join(equal) if len(equal) > 1 else f'{equal[0]}*1'},{_two_cells(values)})"


class Renderer:
    """Writes formulas of one sheet."""

    def __init__(self, placement: FieldAddresses, sheet: str) -> None:
        self._placement = placement
        self._sheet = sheet

    def formula(self, expr: Expr, row: int) -> str:
        """Return ``=…`` for the cell in row (or case) `row` of its table."""
        return "=" + self._text(expr, row, 0)

    def _prefix(self, sheet: str) -> str:
        return "" if sheet == self._sheet else quoted(sheet) + "!"

    def _area(self, sheet: str, top: int, left: int, bottom: int, right: int) -> str:
        # A single cell keeps both ends: not every program takes one cell for a range to look up in.
        return f"{self._prefix(sheet)}{absolute(top, left)}:{absolute(bottom, right)}"

    def _text(self, expr: Expr, row: int, strength: int) -> str:
        if isinstance(expr, Op):
            return self._operation(expr, row, strength)
        if isinstance(expr, Call):
            texts = [self._text(a, row, 0) for a in expr.args]
            if expr.name == "INDEX":
                texts[0] = _two_cells(texts[0])
            if expr.name == "SUMIFS":
                return _exact(*texts)
            return f"{IN_FILES.get(expr.name, expr.name)}({','.join(texts)})"
        if isinstance(expr, Const):
            return (
                str(expr.value) if isinstance(expr.value, int) else '"' + expr.value.replace('"', '""') + '"'
            )
        return self._reference(expr, row)

    def _operation(self, op: Op, row: int, strength: int) -> str:
        own = _STRENGTH[op.sign]
        right = own if op.sign in "+*" else own + 1
        text = self._text(op.left, row, own) + op.sign + self._text(op.right, row, right)
        return f"({text})" if own < strength else text

    def _reference(self, expr: Expr, row: int) -> str:
        place = self._placement
        if isinstance(expr, Field):
            sheet, at_row, column = place.cell(expr, row)
            return f"{self._prefix(sheet)}{get_column_letter(column)}{at_row}"
        if isinstance(expr, At):
            if place.is_named(expr.field):
                return expr.field.key
            sheet, at_row, column = place.cell(expr.field, expr.index)
            return self._prefix(sheet) + absolute(at_row, column)
        return self._range(expr)

    def _range(self, expr: Expr) -> str:
        place = self._placement
        if isinstance(expr, All):
            return self._area(*place.span(expr.field))
        if isinstance(expr, Block):
            sheet, top, left, _, _ = place.span(expr.fields[0])
            _, _, _, bottom, right = place.span(expr.fields[-1])
            return self._area(sheet, top, left, bottom, right)
        if isinstance(expr, Heads):
            sheet, top, left, _, _ = place.span(expr.fields[0])
            _, _, _, _, right = place.span(expr.fields[-1])
            return self._area(sheet, top - 1, left, top - 1, right)
        if isinstance(expr, Stack | StackKeys):
            sheet, top, column = place.cell(expr.fields[0], 0)
            _, bottom, _ = place.cell(expr.fields[-1], 0)
            at = column if isinstance(expr, Stack) else 1
            return self._area(sheet, top, at, bottom, at)
        if isinstance(expr, KeyAt):
            sheet, _, _ = place.cell(expr.field, 0)
            last = place.spots[expr.field.table].last
            column = 1 + expr.right
            return f"INDEX({self._area(sheet, 1, column, last, column)},ROW({expr.field.key}))"
        raise TypeError(f"{type(expr).__name__} cannot be written")
