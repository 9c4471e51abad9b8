"""How a delivered workbook prints: rules that read the file and lean on nothing of the writer under test."""

import re
from collections.abc import Callable, Iterator
from itertools import pairwise

from openpyxl.utils import get_column_letter
from openpyxl.utils.cell import range_boundaries
from openpyxl.worksheet.worksheet import Worksheet

from estimator.core.errors import Problem
from tests.workbook.delivered import Block, Delivered, breach, cells

PAPERS = {9: (595, 842), 1: (612, 792)}
"""Points of 1/72 in: ISO 216 A4 is 210 x 297 mm, ANSI letter 8 1/2 x 11 in."""
LEAST_LETTERS = 7.0
"""Points of the smallest letters printed; common practice, no source."""
WIDE_UNIT, NARROW_UNIT = 5.57, 5.25
"""Points of one character of a column's width: a digit of Arial 10 (0.556 em), or 7 pixels of 1/96 in."""
PAD = 8.33
"""Width of an M in Arial 10: what a number's format keeps beside it."""
MEAN_EM = 0.45
"""Width of a letter of running text in a sans serif face, on average; common practice, no source."""

FEWEST_ROWS = 5
"""Rows of a table that its last page holds; common practice, no source."""
LEAST_SCALE = 0.8
HEAD_EM = 0.46
"""Width of a letter of a bold title, on average; common practice, no source."""


def seen(file: Delivered) -> Iterator[Worksheet]:
    yield from (s for s in file.book.worksheets if s.sheet_state == "visible")


def width(sheet: Worksheet, first: int, last: int) -> float:
    shapes = [sheet.column_dimensions[get_column_letter(c)] for c in range(first, last + 1)]
    return sum(0.0 if s.hidden else float(s.width) for s in shapes)


def height(sheet: Worksheet, row: int) -> float:
    shape = sheet.row_dimensions[row]
    return 0.0 if shape.hidden else float(shape.height or sheet.sheet_format.defaultRowHeight)


def printed(sheet: Worksheet) -> tuple[int, int, int, int]:
    """Return first column, first row, last column, last row of the print area; zeros without one."""
    area = str(sheet.print_area or "").rpartition("!")[2].replace("$", "")
    left, top, right, bottom = range_boundaries(area) if area else (0, 0, 0, 0)
    return int(left or 0), int(top or 0), int(right or 0), int(bottom or 0)


def room(sheet: Worksheet) -> tuple[float, float]:
    """Return the points a page leaves across and down."""
    short, long = PAPERS[sheet.page_setup.paperSize or 0]
    across = sheet.page_setup.orientation == "landscape"
    wide, high = (long, short) if across else (short, long)
    margins = sheet.page_margins
    return wide - 72 * (margins.left + margins.right), high - 72 * (margins.top + margins.bottom)


def groups(sheet: Worksheet) -> list[tuple[int, int]]:
    """Return first and last column of what stands on one page, by the breaks set on purpose."""
    left, _, right, _ = printed(sheet)
    return [(a, b - 1) for a, b in pairwise([left, *(b.id + 1 for b in sheet.col_breaks.brk), right + 1])]


def scale(sheet: Worksheet) -> float:
    """Return the scale at which the sheet's width fits its page, at most the one that is set."""
    names = sheet.print_title_cols is not None
    wide = max(width(sheet, a, b) + (width(sheet, 2, 2) if names and a > 2 else 0) for a, b in groups(sheet))
    own = room(sheet)[0] / (wide * WIDE_UNIT)
    return min(1.0, own, (sheet.page_setup.scale or 100) / 100)


def one_page_wide(file: Delivered) -> Iterator[Problem]:
    """A sheet is one page wide, by a fit or by its scale, or cut between columns with its names repeated."""
    for sheet in seen(file):
        fits = sheet.sheet_properties.pageSetUpPr and sheet.sheet_properties.pageSetUpPr.fitToPage
        if fits and (sheet.page_setup.fitToWidth != 1 or sheet.page_setup.fitToHeight not in {0, 1}):
            yield breach(sheet.title, "is not fitted to one page's width")
        if fits and (sheet.row_breaks.brk or sheet.col_breaks.brk):
            yield breach(sheet.title, "has breaks that a fit to pages passes over")
        if len(groups(sheet)) > 1 and not sheet.print_title_cols:
            yield breach(sheet.title, "is cut between columns without its names")
        if not fits and scale(sheet) < (sheet.page_setup.scale or 100) / 100:
            yield breach(sheet.title, "is wider than its page")


def readable(file: Delivered) -> Iterator[Problem]:
    """The smallest letters printed can be read, also where a number of pages is set."""
    for sheet in seen(file):
        left, _, right, bottom = printed(sheet)
        sizes = {float(c.font.size or 0) for c in cells(sheet) if left <= c.column <= right}
        sizes -= {float(c.font.size or 0) for c in cells(sheet) if sheet.row_dimensions[c.row].hidden}
        pages = sheet.page_setup.fitToHeight or 0
        shown = scale(sheet)
        if pages:
            shown = min(shown, pages * room(sheet)[1] / sum(height(sheet, r) for r in range(1, bottom + 1)))
        if sizes and min(sizes) * shown < LEAST_LETTERS:
            yield breach(sheet.title, f"prints letters of {min(sizes) * shown:.1f} points")


def whole_area(file: Delivered) -> Iterator[Problem]:
    """The print area holds every cell to be read and leaves the hidden keys out."""
    for sheet in seen(file):
        left, top, right, bottom = printed(sheet)
        if (left, top) != (2, 1):
            yield breach(sheet.title, "has no print area that begins at B1")
        for cell in cells(sheet):
            if cell.column > 1 and not (cell.column <= right and cell.row <= bottom):
                yield breach(f"{sheet.title}!{cell.coordinate}", "is not printed")
        for chart in getattr(sheet, "_charts"):  # noqa: B009 - no public way lists them
            corner = chart.anchor.ext
            end = chart.anchor._from.row + corner.height / 12700 / sheet.sheet_format.defaultRowHeight
            if width(sheet, left, right) * NARROW_UNIT < corner.width / 12700 or end > bottom:
                yield breach(sheet.title, "cuts a picture")


def heads_repeat(file: Delivered) -> Iterator[Problem]:
    """Rows are repeated on the pages below: the heads of a table longer than a page, which stands last."""
    for sheet in seen(file):
        if len(pages(sheet)) > 1 and not sheet.print_title_rows:
            yield breach(sheet.title, "repeats no rows")
            continue
        blocks = [b for b in file.blocks if b.sheet == sheet.title]
        for block in blocks if sheet.page_setup.fitToHeight != 1 else ():
            if _points(sheet, block) * scale(sheet) > room(sheet)[1]:
                rows = str(sheet.print_title_rows).replace("$", "").partition(":")
                if block is not blocks[-1] or int(rows[0]) != block.keys - 2:
                    yield breach(f"{sheet.title}, {block.table}", "runs on without its heads")


def _points(sheet: Worksheet, block: Block) -> float:
    return sum(height(sheet, row) for row in range(block.keys - 3, block.last + 1))


def rows_high_enough(file: Delivered) -> Iterator[Problem]:
    """A row is as high as the text that wraps in its cells, merged ones too."""
    for sheet in seen(file):
        spans = {(a.min_row, a.min_col): a.max_col for a in sheet.merged_cells.ranges}
        for cell in cells(file.values[sheet.title]):
            unseen = not width(sheet, cell.column, cell.column)
            if unseen or not cell.alignment.wrap_text or not isinstance(cell.value, str):
                continue
            size = float(cell.font.size or 0)
            wide = width(sheet, cell.column, spans.get((cell.row, cell.column), cell.column)) * WIDE_UNIT
            lines = sum(max(1, -int(-len(part) * MEAN_EM * size // wide)) for part in cell.value.split("\n"))
            if height(sheet, cell.row) and height(sheet, cell.row) < lines * size * 1.1:
                yield breach(f"{sheet.title}!{cell.coordinate}", f"needs {lines} lines")


def numbers_fit(file: Delivered) -> Iterator[Problem]:
    """No number is wider than its column."""
    for sheet in seen(file):
        values = file.values[sheet.title]
        for cell in cells(values):
            if cell.column == 1 or not isinstance(cell.value, int | float) or isinstance(cell.value, bool):
                continue
            wide = width(sheet, cell.column, cell.column) * NARROW_UNIT
            if len(as_shown(cell.value, cell.number_format)) * 5.56 + PAD > wide:
                yield breach(f"{sheet.title}!{cell.coordinate}", "is wider than its column")


def as_shown(value: float, form: str) -> str:
    """Return a number as its format shows it; formats of this workbook only: grouped, or a percentage."""
    form = form.removesuffix("_M")  # room as wide as an M beside the number
    if form == "General":
        return f"{value:g}"
    digits = form.partition(".")[2].rstrip("%")
    text = f"{value * 100:.{len(digits)}f}" if form.endswith("%") else f"{value:,.{len(digits)}f}"
    for mark in reversed(digits):
        if mark == "0" or not text.endswith("0"):
            break
        text = text[:-1]
    return text + "%" * form.endswith("%")


RAW_KEY = re.compile(r"[a-z0-9]_[a-z0-9]|^[a-z]+:[a-z]")
"""A key of the program's own, such as ``cavity_area`` or ``board:board-48``."""


def in_words(file: Delivered) -> Iterator[Problem]:
    """What is printed is in words; only columns of codes show keys."""
    for sheet in seen(file):
        codes = coded(file, sheet)
        for cell in cells(file.values[sheet.title]):
            if not (width(sheet, cell.column, cell.column) and height(sheet, cell.row)):
                continue
            if cell.coordinate not in codes and RAW_KEY.search(str(cell.value)):
                yield breach(f"{sheet.title}!{cell.coordinate}", f"shows the key {cell.value}")


def coded(file: Delivered, sheet: Worksheet) -> set[str]:
    """Return the cells of columns headed 'Code', and of what watches the keys of inputs."""
    blocks = [b for b in file.blocks if b.sheet == sheet.title]
    return {
        f"{get_column_letter(column)}{row}"
        for b in blocks
        for column in range(2, b.right + 1)
        if b.table == "bindings" or sheet.cell(b.keys - 2, column).value == "Code"
        for row in range(b.keys, b.last + 1)
    }


def pages(sheet: Worksheet) -> list[list[int]]:
    """Return the rows of each page down, as heights, print size, breaks and repeated rows give them."""
    _, _, _, bottom = printed(sheet)
    fits = sheet.sheet_properties.pageSetUpPr and sheet.sheet_properties.pageSetUpPr.fitToPage
    if fits and sheet.page_setup.fitToHeight == 1:
        return [list(range(1, bottom + 1))]
    first, last = (int(n) for n in (sheet.print_title_rows or "1:0").replace("$", "").split(":"))
    again = sum(height(sheet, row) for row in range(first, last + 1))
    breaks = {b.id + 1 for b in sheet.row_breaks.brk}
    found, used, down = [[1]], height(sheet, 1), room(sheet)[1] / scale(sheet)
    for row in range(2, bottom + 1):
        own = height(sheet, row)
        if row in breaks or used + own > down:
            found, used = [*found, []], again if row > last else 0.0
        found[-1].append(row)
        used += own
    return found


def no_thin_page(file: Delivered) -> Iterator[Problem]:
    """A table that runs on does not leave a row or a few for its last page."""
    for sheet in seen(file):
        for block in (b for b in file.blocks if b.sheet == sheet.title and b.down):
            held = [[r for r in page if block.keys < r <= block.last] for page in pages(sheet)]
            runs = [rows for rows in held if rows]
            if len(runs) > 1 and len(runs[-1]) < min(FEWEST_ROWS, len(runs[0])):
                yield breach(
                    f"{sheet.title}, {block.table}", f"leaves {len(runs[-1])} rows for its last page"
                )


def no_empty_page(file: Delivered) -> Iterator[Problem]:
    """No page is turned for empty rows: some programs print them."""
    for sheet in seen(file):
        written = {cell.row for cell in cells(sheet) if cell.column > 1 and height(sheet, cell.row)}
        for chart in getattr(sheet, "_charts"):  # noqa: B009 - no public way lists them
            first = chart.anchor._from.row
            written |= set(range(first, first + 2 + int(chart.anchor.ext.height / 12700 / 14)))
        for number, rows in enumerate(pages(sheet), start=1):
            if not written & set(rows):
                yield breach(sheet.title, f"turns page {number} for empty rows")


def decimals_even(file: Delivered) -> Iterator[Problem]:
    """The numbers of a column of one unit have as many decimals each."""
    for block in (b for b in file.blocks if b.down and file.book[b.sheet].sheet_state == "visible"):
        sheet = file.values[block.sheet]
        for column in range(2, block.right + 1):
            held = [sheet.cell(row, column) for row in range(block.keys + 1, block.last + 1)]
            shown = [as_shown(c.value, c.number_format) for c in held if isinstance(c.value, int | float)]
            digits = {len(text.rstrip("%").partition(".")[2]) for text in shown}
            mixed = sheet.cell(block.keys - 1, column).value == "–"
            if len(digits) > 1 and not (mixed and max(digits) > 2):
                yield breach(f"{block.sheet}, {block.table}", f"has ragged decimals in column {column}")


def heads_whole(file: Delivered) -> Iterator[Problem]:
    """What stands over a sheet is not folded into a narrow column: title, what it is for, tag, tables.

    Where columns stand in groups it keeps to the names, and may fold in the smallest print.
    """
    for sheet in seen(file):
        if len(groups(sheet)) > 1 and scale(sheet) <= LEAST_SCALE:
            continue
        spans = {(a.min_row, a.min_col): a.max_col for a in sheet.merged_cells.ranges}
        tops = [b.keys - 3 for b in file.blocks if b.sheet == sheet.title]
        for row in (1, 2, 3, *tops):
            cell = sheet.cell(row, 2)
            wide = width(sheet, 2, spans.get((row, 2), 2)) * WIDE_UNIT
            size = float(cell.font.size or 0)
            if len(str(cell.value or "")) * HEAD_EM * size > wide:
                yield breach(f"{sheet.title}!{cell.coordinate}", f"folds {cell.value}")


def pages_named(file: Delivered) -> Iterator[Problem]:
    """Every page says which file, sheet and page of how many it is."""
    for sheet in seen(file):
        head, foot = sheet.HeaderFooter.oddHeader, sheet.HeaderFooter.oddFooter
        said = [str(p.text) for half in (head, foot) if half for p in (half.left, half.center, half.right)]
        if not all(any(code in text for text in said) for code in ("&F", "&A", "&P of &N")):
            yield breach(sheet.title, "does not say file, sheet and page")


PAGE_RULES: tuple[Callable[[Delivered], Iterator[Problem]], ...] = (
    one_page_wide, readable, whole_area, heads_repeat, rows_high_enough, numbers_fit, in_words, no_thin_page,
    no_empty_page, decimals_even, heads_whole, pages_named,
)  # fmt: skip


def page_breaches(raw: bytes) -> dict[str, list[Problem]]:
    """Return every breach by the name of the rule broken; {} for a workbook that prints as it should."""
    file = Delivered(raw)
    found = {rule.__name__: list(rule(file)) for rule in PAGE_RULES}
    return {name: problems for name, problems in found.items() if problems}
