"""The figures as a workbook: one sheet of quotes as filed, and sheets by year and by client that add them up.

Every sum and share is a formula over the sheet of quotes, so that a reader sees where it comes from and
can correct or filter it. Clients are added up by their number in the sheet: a name such as ``>5`` or ``A*``
would be a condition to SUMIFS.
"""

import io
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from openpyxl import Workbook
from openpyxl.styles import Alignment, Font, PatternFill
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.page import PageMargins
from openpyxl.worksheet.properties import PageSetupProperties
from openpyxl.worksheet.worksheet import Worksheet

from estimator.archive.index import Account

MONEY, PERCENT, PLAIN, DAY = "#,##0.00", "0.0 %", "0", "yyyy-mm-dd"
HEAD_POINTS = 44  # three lines
FIRST = 5  # first row below the title, the note, an empty row and the heads


@dataclass(frozen=True, slots=True)
class Column:
    """One column: its key, head, number format ('' for text), and width in characters."""

    key: str
    head: str
    form: str
    width: int


QUOTES = (
    Column("number", "Quote", "", 11), Column("revision", "Revision", PLAIN, 9),
    Column("date", "Date", DAY, 11), Column("year", "Year", PLAIN, 6),
    Column("client", "Client", "", 26), Column("client_no", "Client no.", PLAIN, 7),
    Column("title", "Job", "", 28), Column("currency", "Currency", "", 9),
    Column("outcome", "Outcome", "", 9), Column("price", "Price before tax", MONEY, 12),
    Column("cost", "Cost quoted", MONEY, 12), Column("margin", "Margin quoted", PERCENT, 9),
    Column("actual_cost", "Cost as spent", MONEY, 12), Column("margin_earned", "Margin earned", PERCENT, 9),
    Column("area_m2", "Treated area, m²", "0.00", 9), Column("price_per_m2", "Price per m²", MONEY, 10),
    Column("quoted", "Quoted with tax", MONEY, 12), Column("invoiced", "Invoiced", MONEY, 12),
    Column("paid", "Paid", MONEY, 12), Column("to_invoice", "Still to invoice", MONEY, 12),
    Column("due", "Invoiced, not paid", MONEY, 12),
)  # fmt: skip
AT = {column.key: get_column_letter(i) for i, column in enumerate(QUOTES, 1)}
# Formulas of a row of quotes; {x} is the cell of column x in this row.
ROW_FORMULAS = {
    "margin": '=IF({price}=0,"",({price}-{cost})/{price})',
    "margin_earned": '=IF(OR({actual_cost}="",{price}=0),"",({price}-{actual_cost})/{price})',
    "price_per_m2": '=IF({area_m2}=0,"",{price}/{area_m2})',
    "to_invoice": "={quoted}-{invoiced}",
    "due": "={invoiced}-{paid}",
}
# Formulas of a row of a group; <x> is column x of the sheet of quotes, [k] this row's condition,
# (n) column n of this row.
SUMS = (
    ("Quotes", PLAIN, "=COUNTIFS([k])"),
    ("Won", PLAIN, '=COUNTIFS([k],<outcome>,"won")'),
    ("Lost", PLAIN, '=COUNTIFS([k],<outcome>,"lost")'),
    ("Open", PLAIN, '=COUNTIFS([k],<outcome>,"open")'),
    ("Won share", PERCENT, '=IF((2)+(3)=0,"",(2)/((2)+(3)))'),
    ("Price before tax", MONEY, "=SUMIFS(<price>,[k])"),
    ("Price of those won", MONEY, '=SUMIFS(<price>,[k],<outcome>,"won")'),
    ("Margin quoted", PERCENT, '=IF((6)=0,"",((6)-SUMIFS(<cost>,[k]))/(6))'),
    ("Margin quoted, won", PERCENT, '=IF((7)=0,"",((7)-SUMIFS(<cost>,[k],<outcome>,"won"))/(7))'),
    ("Jobs reported", PLAIN, '=COUNTIFS([k],<actual_cost>,">=0")'),
    ("Price of those reported", MONEY, '=SUMIFS(<price>,[k],<actual_cost>,">=0")'),
    ("Margin quoted, reported", PERCENT, '=IF((11)=0,"",((11)-SUMIFS(<cost>,[k],<actual_cost>,">=0"))/(11))'),
    ("Margin earned", PERCENT, '=IF((11)=0,"",((11)-SUMIFS(<actual_cost>,[k]))/(11))'),
    ("Treated area, m²", "0.00", "=SUMIFS(<area_m2>,[k])"),
    ("Price per m²", MONEY, '=IF((14)=0,"",SUMIFS(<price>,[k],<area_m2>,">0")/(14))'),
    ("Invoiced", MONEY, "=SUMIFS(<invoiced>,[k])"),
    ("Paid", MONEY, "=SUMIFS(<paid>,[k])"),
    ("Invoiced, not paid", MONEY, "=SUMIFS(<due>,[k])"),
)  # fmt: skip


def workbook(found: Sequence[Account]) -> bytes:
    """Return the figures of `found` as an xlsx file."""
    book = Workbook()
    clients = {name: i for i, name in enumerate(sorted({a.client for a in found}), 1)}
    _quotes(_sheet(book, "Quotes", "Quotes filed", "One row for each quote, of the revision that counts."),
            found, clients)  # fmt: skip
    note = "Formulas over the sheet Quotes; money of one currency a row."
    years = sorted({(a.date.year, a.currency) for a in found})
    by_year = _sheet(book, "By year", "Figures by year", note)
    _groups(by_year, [("Year", PLAIN, "year")], [((y,), c) for y, c in years], len(found))
    pairs = sorted({(clients[a.client], a.client, a.currency) for a in found})
    by_client = _sheet(book, "By client", "Figures by client", note)
    heads = [("Client no.", PLAIN, "client_no"), ("Client", "", "")]
    _groups(by_client, heads, [((n, name), c) for n, name, c in pairs], len(found))
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _sheet(book: Workbook, name: str, title: str, note: str) -> Worksheet:
    fresh = len(book.sheetnames) == 1 and book.active is not None and book.active.title == "Sheet"
    sheet: Worksheet = book.worksheets[0] if fresh else book.create_sheet()
    sheet.title = name
    _put(sheet, 1, 1, title).font = Font(bold=True, size=14)
    _put(sheet, 2, 1, note).font = Font(italic=True)
    sheet.sheet_view.showGridLines = False
    return sheet


def _put(sheet: Worksheet, row: int, column: int, value: object, form: str = "") -> Any:  # noqa: ANN401 - openpyxl's cell
    """Write one cell; a text stays a text, whatever it begins with."""
    cell = sheet.cell(row, column)
    if isinstance(value, str):
        cell.value = "".join(c for c in value if c.isprintable())
        cell.data_type = "s"
    else:
        cell.value = value  # type: ignore[assignment]
    if form:
        cell.number_format = form
    return cell


def _formula(sheet: Worksheet, row: int, column: int, formula: str, form: str) -> None:
    sheet.cell(row, column, formula).number_format = form


def _heads(sheet: Worksheet, heads: Sequence[tuple[str, str, int]]) -> None:
    """Write the row of heads, each (text, format of its column, width), and set up the page."""
    for i, (head, form, width) in enumerate(heads, 1):
        cell = _put(sheet, FIRST - 1, i, head)
        cell.font, cell.fill = Font(bold=True), PatternFill("solid", fgColor="FFE7E6E6")
        cell.alignment = Alignment(wrap_text=True, vertical="bottom", horizontal="right" if form else "left")
        sheet.column_dimensions[get_column_letter(i)].width = width
    sheet.row_dimensions[FIRST - 1].height = HEAD_POINTS
    sheet.freeze_panes = f"B{FIRST}"
    sheet.print_title_rows = f"{FIRST - 1}:{FIRST - 1}"
    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.fitToHeight = 0
    sheet.page_margins = PageMargins(0.4, 0.4, 0.5, 0.5)
    sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)


def _quotes(sheet: Worksheet, found: Sequence[Account], clients: dict[str, int]) -> None:
    _heads(sheet, [(c.head, c.form, c.width) for c in QUOTES])
    for row, account in enumerate(found, FIRST):
        here = {key: f"{letter}{row}" for key, letter in AT.items()}
        extra = {"year": account.date.year, "client_no": clients[account.client]}
        for i, column in enumerate(QUOTES, 1):
            if column.key in ROW_FORMULAS:
                _formula(sheet, row, i, ROW_FORMULAS[column.key].format(**here), column.form)
            else:
                value = extra.get(column.key, getattr(account, column.key, None))
                _put(sheet, row, i, value, column.form)
    sheet.auto_filter.ref = (
        f"A{FIRST - 1}:{get_column_letter(len(QUOTES))}{max(FIRST, FIRST + len(found) - 1)}"
    )


def _groups(
    sheet: Worksheet,
    keys: Sequence[tuple[str, str, str]],
    groups: Sequence[tuple[tuple[object, ...], str]],
    many: int,
) -> None:
    """Write one row a group: its keys, the currency, and the formulas that add up its quotes."""
    heads = [(head, form, 26 if head == "Client" else 8) for head, form, _ in keys]
    sums = [(head, form, 12 if form == MONEY else 9) for head, form, _ in SUMS]
    _heads(sheet, [*heads, ("Currency", "", 9), *sums])
    for row, (values, currency) in enumerate(groups, FIRST):
        for i, (value, (_, form, _)) in enumerate(zip(values, keys, strict=True), 1):
            _put(sheet, row, i, value, form)
        _put(sheet, row, len(keys) + 1, currency)
        condition = f"<{keys[0][2]}>,$A{row},<currency>,{get_column_letter(len(keys) + 1)}{row}"
        for i, (_, form, pattern) in enumerate(SUMS, len(keys) + 2):
            _formula(sheet, row, i, _filled(pattern, condition, row, len(keys) + 1, many), form)


def _filled(pattern: str, condition: str, row: int, before: int, many: int) -> str:
    text = pattern.replace("[k]", condition)
    for key, letter in AT.items():
        text = text.replace(f"<{key}>", f"Quotes!${letter}${FIRST}:${letter}${FIRST + many - 1}")
    for n in range(len(SUMS), 0, -1):
        text = text.replace(f"({n})", f"{get_column_letter(before + n)}{row}")
    return text
