"""How a sheet prints, scrolls and is protected."""

from typing import Literal

from openpyxl.utils import get_column_letter
from openpyxl.worksheet.header_footer import HeaderFooterItem
from openpyxl.worksheet.pagebreak import Break
from openpyxl.worksheet.properties import PageSetupProperties
from openpyxl.worksheet.worksheet import Worksheet

from estimator.calc.placement import FORM_LEAD, Spot
from estimator.calc.tables import Sheet

Paper = Literal["a4", "letter"]
PAPER_SIZES = {"letter": 1, "a4": 9}
MARGIN_INCHES, HEAD_INCHES = 0.5, 0.25
LONG_TABLE = 30


def _safe(text: str) -> str:
    return text.replace("&", "&&")


def set_print(sheet: Worksheet, plan: Sheet, spots: list[Spot], title: str, paper: Paper) -> None:
    """Set paper, orientation, fit to width, repeated rows, header and page numbers.

    Args:
        sheet: the sheet written.
        plan: its record.
        spots: where its tables stand.
        title: what every page says at the top left: the job.
        paper: the office's paper.
    """
    setup = sheet.page_setup
    setup.paperSize = PAPER_SIZES[paper]
    setup.orientation = "landscape" if plan.landscape else "portrait"
    sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)
    setup.fitToWidth, setup.fitToHeight = 1, 0
    margins = sheet.page_margins
    margins.left = margins.right = MARGIN_INCHES
    margins.top = margins.bottom = MARGIN_INCHES + HEAD_INCHES
    margins.header = margins.footer = HEAD_INCHES
    top = spots[0].top if len(spots) == 1 else 0
    sheet.print_title_rows = f"{top + 1}:{top + 2}" if top else "1:1"
    header, footer = HeaderFooterItem(), HeaderFooterItem()
    sheet.HeaderFooter.oddHeader, sheet.HeaderFooter.oddFooter = header, footer
    header.left.text, header.right.text = _safe(title), "&A"
    footer.center.text = "Page &P of &N"
    for spot in spots[1:]:
        if spot.rows > LONG_TABLE:
            sheet.row_breaks.append(Break(id=spot.top - 1))


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
