"""What an input accepts: checked as it is typed, with a message in plain words."""

import datetime as dt
from decimal import Decimal

from openpyxl.worksheet.datavalidation import DataValidation

from estimator.calc.expressions import All
from estimator.calc.formulas import Renderer
from estimator.calc.tables import Field
from estimator.workbook.shown import allowed, sort_of
from estimator.workbook.texts import FIRST_DATE

TITLE_ROOM, TEXT_ROOM, LIST_ROOM = 32, 255, 255
EPOCH = dt.date(1899, 12, 30)


def serial(day: dt.date) -> int:
    """Return a date as the number a spreadsheet keeps for it, in its 1900 system."""
    return (day - EPOCH).days


def _limits(field: Field, sort: str) -> dict[str, str]:
    low, high = (serial(v) if isinstance(v, dt.date) else v for v in (field.low, field.high))
    kind = {"date": "date", "text": "textLength"}.get(sort, "whole" if field.whole else "decimal")
    if sort == "text":
        low, high = Decimal(0), Decimal(TEXT_ROOM)
    elif sort == "date" and low is None:
        low = Decimal(serial(FIRST_DATE))
    elif low is None and high is None:
        low, high = Decimal(-(10**9)), Decimal(10**9)
    if low is not None and high is not None:
        return {"type": kind, "operator": "between", "formula1": f"{low}", "formula2": f"{high}"}
    if low is not None:
        return {"type": kind, "operator": "greaterThanOrEqual", "formula1": f"{low}"}
    return {"type": kind, "operator": "lessThanOrEqual", "formula1": f"{high}"}


def _choices(field: Field) -> str:
    text = ",".join(field.choices)
    if len(text) > LIST_ROOM or any("," in c or '"' in c for c in field.choices):
        raise ValueError(f"{field.table}.{field.key}: choices too long or with a comma; use picks")
    return f'"{text}"'


def validation(field: Field, renderer: Renderer) -> DataValidation:
    """Return what a field's input cells accept, to be given its cells by the caller.

    Raises:
        ValueError: choices that do not fit a drop-down list.
    """
    wanted = f"{field.label}: {allowed(field)}."
    source = f" Source: {field.source}." if field.source else ""
    if field.picks is not None:
        rule = {"type": "list", "formula1": renderer.formula(All(field.picks), 0)[1:]}
    elif field.choices:
        rule = {"type": "list", "formula1": _choices(field)}
    else:
        rule = _limits(field, sort_of(field))
    return DataValidation(
        **rule,  # type: ignore[arg-type]
        allow_blank=True,
        errorStyle="stop",
        showErrorMessage=True,
        showInputMessage=True,
        errorTitle="This cell cannot take that",
        error=f"Allowed here: {wanted}"[:TEXT_ROOM],
        promptTitle=field.label[:TITLE_ROOM],
        prompt=f"Allowed: {allowed(field)}.{source}"[:TEXT_ROOM],
    )
