"""What an input accepts: checked as it is typed, with a message in plain words."""

import datetime as dt
from collections.abc import Iterable
from decimal import Decimal

from openpyxl.worksheet.datavalidation import DataValidation

from estimator.calc.expressions import All, Field, Value
from estimator.calc.formulas import Renderer
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


def _offered(field: Field, values: Iterable[Value]) -> str:
    """Return the list of the values to choose from, each once, as long as it fits; '' if there are none."""
    texts = [v for v in dict.fromkeys(values) if isinstance(v, str) and v and not {",", '"'} & set(v)]
    while texts and len(",".join(texts)) > LIST_ROOM:
        texts.pop()
    return '"' + ",".join(texts) + '"' if field.offers and texts else ""


def spare_validation(field: Field, renderer: Renderer, values: Iterable[Value]) -> DataValidation:
    """Return what the spare cells of a field accept: as its inputs, or a list to choose from or to pass over.

    Args:
        field: of a table with spare rows.
        renderer: of its sheet.
        values: what stands in the rows that the program filled.
    """
    accepted, offered = validation(field, renderer), _offered(field, values)
    if offered:
        accepted.type, accepted.operator, accepted.formula1, accepted.formula2 = "list", None, offered, None
        accepted.errorStyle, accepted.errorTitle = "warning", "Not in the list"
        accepted.error = f"{field.label}: no row above has that. Keep it if it is new."
        accepted.prompt = "Choose from the list, or type a new one."
    return accepted


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
