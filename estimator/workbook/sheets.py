"""One sheet: its title, purpose and role, its tables from top to bottom, notes under them, pictures last."""

from itertools import count

from openpyxl.worksheet.hyperlink import Hyperlink
from openpyxl.worksheet.worksheet import Worksheet

from estimator.calc.tables import FieldAddresses, Sheet, TableSpot, footer, quoted
from estimator.workbook.blocks import columns_of, write_columns, write_form
from estimator.workbook.desk import SheetDesk

ROLES = {
    "inputs": "Inputs: change the framed cells",
    "workings": "Workings: nothing to fill in",
    "outputs": "Outputs: to read and print",
    "control": "Control: what to know and check",
}
CONTENTS, BACK, LINK_COLUMN = "Contents", "To the contents", 3
UNBROKEN = "-"
"""Stands for a space where a text must stay in one line; as wide, and a little more."""


def _foot(desk: SheetDesk, spot: TableSpot) -> None:
    for row, text in enumerate(footer(spot.table), start=spot.last + 1):
        desk.later.append((row, (2, desk.last), text, "note"))


def _head(desk: SheetDesk, sheet: Sheet) -> None:
    desk.later.append((1, (2, desk.last), sheet.title, "title"))
    desk.later.append((2, (2, desk.last), sheet.purpose, "purpose"))
    desk.tag = ROLES[sheet.role]
    desk.hold(2, sheet.title.replace(" ", UNBROKEN), "title")


def link(sheet: Worksheet, row: int, column: int, target: str) -> None:
    """Make a cell a link to the top of the sheet `target` of the same workbook."""
    cell = sheet.cell(row, column)
    cell.hyperlink = Hyperlink(ref=cell.coordinate, location=f"{quoted(target)}!B1", display=str(cell.value))


def write_sheet(desk: SheetDesk, sheet: Sheet, placement: FieldAddresses) -> int:
    """Write a whole sheet but its pictures; returns the last row used."""
    desk.alone = len(sheet.tables) == 1
    desk.last = max([LINK_COLUMN, *(columns_of(t) for t in sheet.tables)])
    _head(desk, sheet)
    bottom = 3
    for table in sheet.tables:
        spot = placement.spots[table.key]
        (write_columns if table.orientation == "down" else write_form)(desk, spot)
        _foot(desk, spot)
        bottom = spot.last + len(footer(table))
    if sheet.title != CONTENTS:
        desk.back = BACK
        if desk.last == (column := next(c for c in count(LINK_COLUMN) if c not in desk.hidden)):
            desk.hold(column, BACK.replace(" ", UNBROKEN), "link")
    desk.finish()
    if desk.back:
        desk.write(3, desk.way, desk.back, desk.styles.of("link"))
        link(desk.sheet, 3, desk.way, CONTENTS)
    desk.sheet.column_dimensions["A"].hidden = True
    return bottom
