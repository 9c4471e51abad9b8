"""How a sheet prints, scrolls and is protected, and where its pages end.

A table that fits on a page is not cut, and no page begins for a line or two. Empty rows that find no room
under a table head the next page, where no page is turned for them. Heights are worked out from the rows as
they are set, so the same breaks are found whatever program prints.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from openpyxl.utils import get_column_letter
from openpyxl.worksheet.header_footer import HeaderFooterItem
from openpyxl.worksheet.pagebreak import Break
from openpyxl.worksheet.properties import PageSetupProperties
from openpyxl.worksheet.worksheet import Worksheet

from estimator.calc.tables import FIRST_ROW, FORM_LEAD, TableSpot, footer
from estimator.workbook.charts import ROWS_EACH, WIDTH_CM
from estimator.workbook.desk import NARROW
from estimator.workbook.desk import POINTS as SCREEN_POINTS
from estimator.workbook.fitting import LEAST_SCALE, NAMES, Fit

FULL = 0.6
"""Share of a page used before a table longer than a page gets a new one; common practice, no source."""
FEW = 4
"""Pages above which print is not made smaller to save one; common practice, no source."""
FEW_ROWS, HEAD_ROWS = 8, 4
"""Rows below which a table's last page takes some of the page before; rows of a table's title and heads."""
PERCENT, TOLERANCE = 100, 1e-6
"""Files hold the size of print in whole percents; what a share of 0.8 may miss of 80 for want of digits."""
MANY = 40
"""Pages of one table above which none of its ends is set, and its last page is as it falls."""


@dataclass(frozen=True, slots=True)
class PageBlock:
    """A table or picture with what belongs to it.

    Attributes:
        top: its first row.
        rows: how high each of its rows is, points.
        gap: points of the empty rows under it.
    """

    top: int
    rows: tuple[float, ...]
    gap: float = 0.0

    @property
    def points(self) -> float:
        """Return how high it is."""
        return sum(self.rows)


@dataclass(frozen=True, slots=True)
class Pages:
    """How the blocks of a sheet fall on pages.

    Attributes:
        breaks: rows that begin a new page.
        count: pages one under the other.
        cut: blocks that run over several pages.
        scale: at which they print.
        long: whether the last block runs over several pages.
    """

    breaks: tuple[int, ...]
    count: int
    cut: int
    scale: float
    long: bool


def paged(blocks: Sequence[PageBlock], room: float, again: float, scales: tuple[float, float]) -> Pages:
    """Return the fewest pages for blocks that stand one under the other, the fewest cut, in large print.

    Args:
        blocks: from top to bottom; the first begins with the sheet's own head.
        room: points of a page.
        again: points of what is repeated on later pages.
        scales: the largest that fits the width, and the smallest that can be read; whole percents are tried.
    """
    most, least = (int(scale * PERCENT + TOLERANCE) for scale in scales)
    tries = (_at(blocks, room, again, percent / PERCENT) for percent in range(most, least - 1, -1))
    first = next(tries)
    return first if first.count > FEW else min((first, *tries), key=lambda p: (p.count, p.cut))


def _at(blocks: Sequence[PageBlock], room: float, again: float, scale: float) -> Pages:
    room /= scale
    used, breaks, fresh = 0.0, [], room - again
    count, cut = 1, 0
    for number, block in enumerate(blocks):
        left, points = room - used, block.points
        if number and points > left and (points <= fresh or used > room * FULL):
            above = blocks[number - 1]
            breaks.append(above.top + len(above.rows) if used > room else block.top)
            used = again + (above.gap if used > room else 0.0)
            left, count = room - used, count + 1
        if points > left:
            starts, moved = _evened(_starts(block.rows, left, fresh), len(block.rows))
            breaks += [block.top + start for start in starts if moved]
            count, cut = count + len(starts), cut + 1
            used = again + sum(block.rows[starts[-1] :])
        else:
            used += points
        used += block.gap
    return Pages(tuple(breaks), count, cut, scale, long=blocks[-1].points > fresh)


def _starts(rows: Sequence[float], left: float, fresh: float) -> list[int]:
    """Return the rows that begin pages, the first page having room for `left`, each later one for `fresh`."""
    found: list[int] = []
    free = left
    for number, own in enumerate(rows):
        if own > free and number not in found[-1:]:
            found.append(number)
            free = fresh
        free -= own
    return found


def _evened(starts: list[int], count: int) -> tuple[list[int], bool]:
    """Return the rows that begin pages, the last with rows of the page before if it has few, and whether so.

    The page before keeps the heads and half of what the two hold.
    """
    before = starts[-2] if len(starts) > 1 else 0
    last = max(count - FEW_ROWS, before + (count - before + HEAD_ROWS) // 2)
    if last >= starts[-1] or len(starts) >= MANY:
        return starts, False
    return [*starts[:-1], last], True


Paper = Literal["a4", "letter"]
PAPER_SIZES = {"letter": 1, "a4": 9}
MARGIN_INCHES, HEAD_INCHES = 0.5, 0.25
SHEET_POINTS: dict[int | None, tuple[int, int]] = {1: (612, 792), 9: (595, 842)}
"""Short and long side: ANSI Letter is 8 1/2 x 11 in, ISO 216 A4 210 x 297 mm."""
CHART_POINTS = WIDTH_CM / 2.54 * 72 + 6
ROW_POINTS = 14.0
"""Height of a row that is not set: one line of the cells' letters."""


def set_print(sheet: Worksheet, spots: list[TableSpot], fit: Fit, bottom: int, charts: int) -> None:
    """Set the pages: orientation, fit to width, breaks, repeated rows, and the area that is printed.

    Args:
        sheet: the sheet, all written, its paper set.
        spots: where its tables stand.
        fit: the widths it was given, and the page they fit.
        bottom: its last row with text.
        charts: how many pictures stand under it, from two rows below on.
    """
    across, beside = fit.across, len(fit.groups) > 1
    sheet.page_setup.orientation = "landscape" if across else "portrait"
    end = bottom + 1 + ROWS_EACH * charts if charts else bottom
    sheet.print_area = f"B1:{get_column_letter(_last(sheet, fit, charts))}{end}"
    heads = (spots[-1].top + 1, spots[-1].top + 2) if spots else (1, 1)
    blocks = _blocks(sheet, spots, end, [bottom + 1 + ROWS_EACH * n for n in range(charts)])
    short, long = SHEET_POINTS[sheet.page_setup.paperSize]
    room = (short if across else long) - 144 * (MARGIN_INCHES + HEAD_INCHES)
    again = max(sum(_heights(sheet, *rows)) for rows in (heads, (1, 1)))
    pages = paged(blocks, room, again, (fit.most, min(fit.most, LEAST_SCALE)))
    if pages.count > 1:  # where nothing follows, LibreOffice takes long over rows to repeat
        sheet.print_title_rows = "{}:{}".format(*(heads if pages.long and not charts else (1, 1)))
    if beside:
        sheet.print_title_cols = f"{get_column_letter(NAMES)}:{get_column_letter(NAMES)}"
    for row in pages.breaks:
        sheet.row_breaks.append(Break(id=row - 1))
    _scale(sheet, fit, pages, beside=beside)


def _last(sheet: Worksheet, fit: Fit, charts: int) -> int:
    """Return the last column printed: that of the tables, or one that a picture ends in."""
    last, width = max(fit.widths), sum(fit.widths.values())
    while charts and width * SCREEN_POINTS < CHART_POINTS:
        last, width = last + 1, width + NARROW
        sheet.column_dimensions[get_column_letter(last)].width = NARROW
    return last


def _scale(sheet: Worksheet, fit: Fit, pages: Pages, *, beside: bool) -> None:
    """Fit one page; of several set the scale: a fit passes breaks over, and each program's is another."""
    setup = sheet.page_setup
    for first in fit.groups[1:]:
        sheet.col_breaks.append(Break(id=first - 1))
    if beside or pages.count > 1:
        setup.scale, setup.pageOrder = round(pages.scale * PERCENT), "overThenDown"
        return
    sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)
    setup.fitToWidth = setup.fitToHeight = 1


def _heights(sheet: Worksheet, first: int, last: int) -> tuple[float, ...]:
    shapes = (sheet.row_dimensions[row] for row in range(first, last + 1))
    return tuple(0.0 if s.hidden else s.height or ROW_POINTS for s in shapes)


def _blocks(sheet: Worksheet, spots: list[TableSpot], end: int, charts: list[int]) -> list[PageBlock]:
    """Return tables and pictures with the heights they take; the sheet's head belongs to the first."""
    tops = [*(s.top for s in spots), *charts]
    if not tops:
        return [PageBlock(1, _heights(sheet, 1, end))]
    ends = [*(t - 1 for t in tops[1:]), end]
    filled = [min(b, s.last + len(footer(s.table))) for s, b in zip(spots, ends, strict=False)]
    filled += ends[len(spots) :]
    firsts = [1, *tops[1:]]
    return [
        PageBlock(a, _heights(sheet, a, b), sum(_heights(sheet, b + 1, c)))
        for a, b, c in zip(firsts, filled, ends, strict=True)
    ]


def set_paper(sheet: Worksheet, title: str, paper: Paper) -> None:
    """Set paper and margins, and say on every page which job, file, sheet and page it is.

    Args:
        sheet: the sheet.
        title: of the job.
        paper: the office's.
    """
    sheet.sheet_format.defaultRowHeight, sheet.sheet_format.customHeight = ROW_POINTS, True
    sheet.page_setup.paperSize = PAPER_SIZES[paper]
    margins = sheet.page_margins
    margins.left = margins.right = MARGIN_INCHES
    margins.top = margins.bottom = MARGIN_INCHES + HEAD_INCHES
    margins.header = margins.footer = HEAD_INCHES
    header, footer = HeaderFooterItem(), HeaderFooterItem()
    sheet.HeaderFooter.oddHeader, sheet.HeaderFooter.oddFooter = header, footer
    header.left.text, header.right.text = title.replace("&", "&&"), "&A"
    footer.left.text, footer.right.text = "&F", "Page &P of &N"


def set_view(sheet: Worksheet, spots: list[TableSpot]) -> None:
    """Keep heads in sight while scrolling, without grid lines; the cursor stands in the first cell below."""
    sheet.sheet_view.showGridLines = False
    column, row = 1, FIRST_ROW
    if len(spots) == 1:
        table, row = spots[0].table, spots[0].first
        more = table.orientation == "down" and len(table.fields) > NAMES
        column = FORM_LEAD + 1 if table.orientation == "across" else NAMES + 1 if more else 1
    sheet.freeze_panes = f"{get_column_letter(column)}{row}"
    cursor = f"{get_column_letter(max(column, NAMES))}{row}"
    for selection in sheet.sheet_view.selection:
        selection.activeCell = selection.sqref = cursor


def protect(sheet: Worksheet) -> None:
    """Lock all but the inputs, without a password; sorting stays off, widths may be changed."""
    protection = sheet.protection
    protection.sheet = True
    protection.formatColumns = protection.formatRows = protection.formatCells = False
    protection.sort = protection.autoFilter = True
