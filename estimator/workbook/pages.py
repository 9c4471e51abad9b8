"""How a sheet prints, scrolls and is protected."""

from math import ceil
from typing import Literal

from openpyxl.utils import get_column_letter
from openpyxl.worksheet.header_footer import HeaderFooterItem
from openpyxl.worksheet.pagebreak import Break
from openpyxl.worksheet.properties import PageSetupProperties
from openpyxl.worksheet.worksheet import Worksheet

from estimator.calc.placement import FORM_LEAD, Spot
from estimator.calc.tables import Sheet
from estimator.workbook.charts import ROWS_EACH

Paper = Literal["a4", "letter"]
PAPER_SIZES = {"letter": 1, "a4": 9}
MARGIN_INCHES, HEAD_INCHES = 0.5, 0.25
LONG_TABLE, SHORT_SHEET, SHORT_UPRIGHT = 25, 42, 60
"""Rows: of a table that gets pages of its own, and of a sheet kept on one page, across or upright."""
WIDEST_PAGE = 190.0
"""Characters side by side that still read well when a page is made to fit them."""


def _safe(text: str) -> str:
    return text.replace("&", "&&")


def set_print(sheet: Worksheet, plan: Sheet, spots: list[Spot], title: str, paper: Paper) -> None:
    """Set paper, orientation, fit to width, repeated rows, header and page numbers.

    Args:
        sheet: the sheet, all written; a short one is kept on a single page.
        plan: its record.
        spots: where its tables stand.
        title: what every page says at the top left: the job.
        paper: the office's paper.
    """
    setup = sheet.page_setup
    bottom = sheet.max_row + ROWS_EACH * len(plan.charts)
    setup.paperSize = PAPER_SIZES[paper]
    setup.orientation = "landscape" if plan.landscape else "portrait"
    sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)
    width = sum(shape.width for name, shape in sheet.column_dimensions.items() if name != "A")
    setup.fitToWidth = max(1, ceil(width / WIDEST_PAGE))
    short = SHORT_SHEET if plan.landscape else SHORT_UPRIGHT
    setup.fitToHeight = 1 if setup.fitToWidth == 1 and bottom <= short else 0
    margins = sheet.page_margins
    margins.left = margins.right = MARGIN_INCHES
    margins.top = margins.bottom = MARGIN_INCHES + HEAD_INCHES
    margins.header = margins.footer = HEAD_INCHES
    _repeat(sheet, spots)
    header, footer = HeaderFooterItem(), HeaderFooterItem()
    sheet.HeaderFooter.oddHeader, sheet.HeaderFooter.oddFooter = header, footer
    header.left.text, header.right.text = _safe(title), "&A"
    footer.center.text = "Page &P of &N"
    for spot in spots[1:]:
        if spot.rows > LONG_TABLE:
            break_before(sheet, spot.top)


def break_before(sheet: Worksheet, row: int) -> None:
    """Start a new page at a row."""
    sheet.row_breaks.append(Break(id=row - 1))


def _repeat(sheet: Worksheet, spots: list[Spot]) -> None:
    """Repeat the heads of the sheet's last table if it is long, else the title; names on pages beside."""
    last = spots[-1] if spots and (len(spots) == 1 or spots[-1].rows > LONG_TABLE) else None
    sheet.print_title_rows = f"{last.top + 1}:{last.top + 2}" if last else "1:1"
    if (sheet.page_setup.fitToWidth or 1) > 1:
        sheet.print_title_cols = "A:B"


def set_view(sheet: Worksheet, spots: list[Spot]) -> None:
    """Keep heads in sight while scrolling, without grid lines."""
    sheet.sheet_view.showGridLines = False
    if len(spots) == 1:
        column = FORM_LEAD if spots[0].table.orientation == "across" else 2
        sheet.freeze_panes = f"{get_column_letter(column + 1)}{spots[0].first}"
    else:
        sheet.freeze_panes = "A4"


def protect(sheet: Worksheet) -> None:
    """Lock all but the inputs, without a password; sorting stays off, widths may be changed."""
    protection = sheet.protection
    protection.sheet = True
    protection.formatColumns = protection.formatRows = protection.formatCells = False
    protection.sort = protection.autoFilter = True
