"""The two shapes of table on a sheet: columns with a row a key, and forms with a column a case."""

from collections.abc import Sequence

from openpyxl.formatting.rule import Rule
from openpyxl.utils import get_column_letter

from estimator.calc.expressions import Field, Value
from estimator.calc.tables import FORM_LEAD, Table, TableSpot, is_open, own_rows, padded, row_keys
from estimator.workbook.desk import SheetDesk
from estimator.workbook.fitting import COMFORT
from estimator.workbook.shown import allowed, number_format, shown, sort_of
from estimator.workbook.styles import FAINT_STYLE, LOOK_STYLE, OK_STYLE
from estimator.workbook.validation import spare_validation, validation

KEY_COLUMN = 1
NO_UNIT = "–"
MARK, LIST = "key", "list"
ONLY_CASE = "*"
ANSWER, KEPT = "(1 = yes)", "\u00a0"
"""What ends the head of a column of answers, and the space at which it is not broken."""
DIGIT = 1.1
"""Width of a digit in characters of a column, with room for its commas."""
TITLE_POINTS = 22.0
GROWTH = 8.0
"""Characters kept for a number with decimals, so that it still fits when it grows."""


def mark(table: Table) -> str:
    """Return the header cell by which a table is found again: ``key:frames:list``.

    The keys of a list stand under the head ``key``, those of other tables under the mark.
    """
    return f"{MARK}:{table.key}:{LIST if table.lead else table.orientation}"


def unit_text(field: Field) -> str:
    """Return a field's unit as shown; numbers of plain things have a dash, text has none."""
    if field.unit in {"", "date"}:
        return NO_UNIT if sort_of(field) == "number" else ""
    return field.unit


def columns_of(table: Table) -> int:
    """Return the last column a table takes."""
    if table.orientation == "down":
        return len(table.fields) + table.lead
    return FORM_LEAD + max(table.count, 1) + (2 if _has_inputs(table) else 0)


def _has_inputs(table: Table) -> bool:
    return any(f.kind == "input" for f in table.fields)


def _look(field: Field, *, spare: bool = False) -> str:
    if is_open(field, spare=spare):
        return "input"
    return "strong" if field.strong else "label" if field.shown else field.kind


def _cells(
    desk: SheetDesk, field: Field, places: Sequence[tuple[int, int]], count: int, text_side: str = "left"
) -> None:
    """Write the cells of a field at `places` (row, column); those from `count` on are the office's own."""
    usual, across = sort_of(field), places[-1][1] > places[0][1]
    for index, ((row, column), value) in enumerate(zip(places, field.values, strict=True)):
        sort = usual if value is None else _sort(value)
        look = _look(field, spare=index >= count)
        side = "right" if sort == "number" else text_side
        wrap = sort == "text" and column != KEY_COLUMN and column not in desk.hidden
        style = desk.styles.of(look, number_format(field, sort), side, wrap=wrap)
        if field.exprs:
            expr = field.exprs[index if field.kind == "each" else 0]
            desk.calculate((row, column), expr, index, value, style)
        else:
            desk.write(row, column, value, style)
        _room(desk, (row, column), shown(value, field), look if wrap else "")
    if usual == "number" and field.places:
        for _, column in places[: 1 if not across else None]:
            desk.widen(column, GROWTH)


def _room(desk: SheetDesk, place: tuple[int, int], text: str, look: str) -> None:
    """Ask for the room a cell's text takes; one without `look` never wraps."""
    row, column = place
    if look:
        desk.wrap(row, column, text, look)
        desk.hold(column, text, look)
    else:
        desk.widen(column, len(text) * DIGIT)


def _sort(value: Value) -> str:
    if isinstance(value, str):
        return "text"
    return "date" if hasattr(value, "year") else "number"


def _area(first: tuple[int, int], last: tuple[int, int]) -> str:
    corners = (f"{get_column_letter(column)}{row}" for row, column in (first, last))
    return ":".join(corners) if first != last else next(corners)


def _rules(desk: SheetDesk, field: Field, first: tuple[int, int], last: tuple[int, int], count: int) -> None:
    """Give a field's cells their validation, and colours where they are checks."""
    area = _area(first, last)
    if field.exprs and set(field.values) and set(field.values) <= {"ok", "look"}:
        for word, style in (("ok", OK_STYLE), ("look", LOOK_STYLE)):
            rule = Rule(type="cellIs", operator="equal", dxf=style, formula=[f'"{word}"'])
            desk.sheet.conditional_formatting.add(area, rule)
    spare = len(field.values) > count and is_open(field, spare=True)
    if field.kind == "input" or spare:
        top = first if field.kind == "input" else (first[0] + count, first[1])
        if len(field.values):
            own = field.values[:count]
            guard = spare_validation(field, desk.renderer, own) if spare else validation(field, desk.renderer)
            guard.add(_area(top, last))
            desk.sheet.add_data_validation(guard)


def write_columns(desk: SheetDesk, spot: TableSpot) -> None:
    """Write a table of columns: heads, units, a hidden line of keys, then a row a key."""
    table, own = padded(spot.table), own_rows(spot.table)
    columns = list(enumerate(table.fields, start=1 + table.lead))
    if desk.alone:
        desk.hidden = {c for c, field in columns if field.link}
    for column, field in columns:
        desk.write(spot.top + 3, column, field.key, desk.styles.of("key"))
        if column != KEY_COLUMN:
            _column_head(desk, spot.top, column, field)
        desk.hold(column, unit_text(field), "unit")
        if field.width:
            desk.widen(column, field.width, 0.0)
        if field.values:
            places = [(spot.first + i, column) for i in range(len(field.values))]
            _cells(desk, field, places, own)
            _rules(desk, field, places[0], places[-1], own)
    desk.write(spot.top + 3, KEY_COLUMN, mark(table), desk.styles.of("key"))
    _title(desk, spot)
    _faint(desk, spot)
    desk.sheet.row_dimensions[spot.top + 2].hidden = not any(unit_text(f) for f in table.fields)
    desk.sheet.row_dimensions[spot.top + 3].hidden = True


def _faint(desk: SheetDesk, spot: TableSpot) -> None:
    """Show the rows faint of which nothing is wanted: where a number of theirs is 0."""
    fields = [field.key for field in spot.table.fields]
    if spot.table.faint not in fields or spot.last < spot.first:
        return
    column = get_column_letter(fields.index(spot.table.faint) + 1 + spot.table.lead)
    rule = Rule(type="expression", dxf=FAINT_STYLE, formula=[f"${column}{spot.first}=0"])
    area = _area((spot.first, 2), (spot.last, columns_of(spot.table)))
    desk.sheet.conditional_formatting.add(area, rule)


def _column_head(desk: SheetDesk, top: int, column: int, field: Field) -> None:
    side = "right" if sort_of(field) == "number" else "left"
    label = field.label.replace(ANSWER, ANSWER.replace(" ", KEPT))
    desk.write(top + 1, column, label, desk.styles.of("head", side=side, wrap=True))
    desk.write(top + 2, column, unit_text(field), desk.styles.of("unit", side=side))
    if column in desk.hidden:
        return
    desk.wrap(top + 1, column, label, "head")
    for word in label.split(" "):
        desk.hold(column, word, "head")
    desk.widen(column, min(len(label) / 2, 16.0), 0.0)


def _title(desk: SheetDesk, spot: TableSpot) -> None:
    none = "" if spot.table.count or spot.table.spare else " (none in this job)"
    desk.later.append((spot.top, (2, desk.last), spot.table.title + none, "table"))
    desk.sheet.row_dimensions[spot.top].height = TITLE_POINTS


def write_form(desk: SheetDesk, spot: TableSpot) -> None:
    """Write a form: a row a field with its label and unit, then its cases, what is allowed and the source."""
    table, lead = spot.table, FORM_LEAD
    _form_heads(desk, spot)
    for row, field in enumerate(table.fields, start=spot.first):
        desk.write(row, KEY_COLUMN, field.key, desk.styles.of("key"))
        desk.write(row, 2, field.label, desk.styles.of("strong" if field.strong else "label", wrap=True))
        desk.write(row, 3, unit_text(field), desk.styles.of("strong unit" if field.strong else "side unit"))
        desk.wrap(row, 2, field.label, "strong" if field.strong else "label")
        desk.hold(2, field.label, "strong" if field.strong else "label")
        desk.hold(3, unit_text(field), "side unit")
        places = [(row, lead + 1 + case) for case in range(len(field.values))]
        if _runs_on(desk, table, field):
            desk.later.append((row, (lead + 1, desk.last), str(field.values[0]), field.kind))
        elif places:
            _cells(desk, field, places, table.count, _form_side(table))
            _rules(desk, field, places[0], places[-1], table.count)
        if field.kind == "input":
            _provenance(desk, row, lead + max(table.count, 1) + 1, field)
        desk.sheet.row_dimensions[row].hidden = field.kind == "key"
    _title(desk, spot)


def _runs_on(desk: SheetDesk, table: Table, field: Field) -> bool:
    """Return whether a form's only text runs on over columns that are empty beside it.

    What was decided does, and a label too long for its column.
    """
    if table.count != 1 or field.kind not in {"label", "value"} or not isinstance(field.values[0], str):
        return False
    long = field.kind == "value" or len(field.values[0]) > COMFORT
    return long and desk.last > FORM_LEAD + 1


def _form_side(table: Table) -> str:
    """Return the side that a form's values stand on, its words with its numbers."""
    return "right" if any(sort_of(f) == "number" for f in table.fields) else "left"


def _form_heads(desk: SheetDesk, spot: TableSpot) -> None:
    table, styles = spot.table, desk.styles
    cases = row_keys(table)
    side = _form_side(table)
    named = next((f.values for f in table.fields if f.kind in {"key", "label"}), ())
    over = [str(v) for v in named] if len(cases) > 1 and named else [case or "Value" for case in cases]
    heads = [("Item", "left"), ("Unit", "left"), *((text, side) for text in over)]
    heads += [("Allowed", "left"), ("Source", "left")] if _has_inputs(table) else []
    for column, (text, side) in enumerate(heads, start=2):
        desk.write(spot.top + 1, column, text, styles.of("head", side=side, wrap=True))
        desk.hold(column, text, "head")
        desk.wrap(spot.top + 1, column, text, "head")
    desk.write(spot.top + 3, KEY_COLUMN, mark(table), styles.of("key"))
    for column, case in enumerate(cases, start=FORM_LEAD + 1):
        desk.write(spot.top + 3, column, case or ONLY_CASE, styles.of("key"))
    for row in (spot.top + 2, spot.top + 3):
        desk.sheet.row_dimensions[row].hidden = True


def _provenance(desk: SheetDesk, row: int, column: int, field: Field) -> None:
    text = allowed(field)
    desk.write(row, column, text, desk.styles.of("note", wrap=True))
    desk.wrap(row, column, text, "note")
    desk.hold(column, text, "note")
    desk.later.append((row, (column + 1, max(desk.last, column + 1)), field.source, "note"))
    if column + 1 == desk.last:
        desk.hold(column + 1, field.source, "note")
