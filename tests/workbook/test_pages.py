"""What is printed: paper, repeated heads, pages side by side; and no number wider than its column."""

import io
import re
from pathlib import Path

import openpyxl
import pytest
from openpyxl.utils import get_column_letter

from estimator.calc.tables import Book, Draft, Sheet
from estimator.workbook.build import workbook_bytes
from estimator.workbook.pages import Paper
from estimator.workbook.recalculate import resaved
from tests.workbook.books import everything
from tests.workbook.delivered import cells

POINTS = {"a4": (595, 842), "letter": (612, 792)}
"""Paper in points of 1/72 in: ISO 216 A4 is 210 × 297 mm, ANSI letter 8 1/2 × 11 in."""


def opened(book: Book) -> openpyxl.Workbook:
    return openpyxl.load_workbook(io.BytesIO(workbook_bytes(book, {"title": "Hall"}, "a4")), data_only=True)


def as_shown(value: float, form: str) -> str:
    """Return a number as its format shows it; formats of this workbook only: grouped, or a percentage."""
    digits = len(form.partition(".")[2].rstrip("%"))
    if form.endswith("%"):
        return f"{value * 100:.{digits}f}%"
    return f"{value:,.{digits}f}" if form != "General" else f"{value:g}"


def test_no_number_is_wider_than_its_column() -> None:
    book = opened(everything(count=40))
    seen = 0
    for sheet in book.worksheets:
        for cell in cells(sheet):
            if isinstance(cell.value, int | float) and not isinstance(cell.value, bool):
                width = sheet.column_dimensions[get_column_letter(cell.column)].width
                assert len(as_shown(cell.value, cell.number_format)) + 1 <= width, cell.coordinate
                seen += 1
    assert seen > 300


def test_every_word_fits_its_column() -> None:
    for sheet in opened(everything()).worksheets:
        merged = {c for area in sheet.merged_cells.ranges for row in area.rows for c in row}
        for cell in cells(sheet):
            if (
                cell.alignment.wrap_text
                and (cell.row, cell.column) not in merged
                and "xxx" not in str(cell.value)
            ):
                width = sheet.column_dimensions[get_column_letter(cell.column)].width
                assert max(map(len, str(cell.value).split())) <= width, f"{sheet.title}!{cell.coordinate}"


def test_rows_grow_with_long_text() -> None:
    sheet = opened(everything())["About"]
    heights = [sheet.row_dimensions[row].height for row in (11, 12)]
    assert heights[0] > heights[1] > 15


def wide(columns: int) -> Book:
    draft = Draft("wide", "Wide")
    draft.keys(["a"])
    draft.label("name", "Name", ["A"])
    for number in range(columns):
        draft.label(f"c{number}", "Column", ["some text"])
    return Book((Sheet("Wide", "workings", "Wide.", (draft.table(),)),))


def test_a_wide_sheet_prints_on_pages_side_by_side_with_its_names() -> None:
    assert opened(wide(12))["Wide"].page_setup.fitToWidth == 1
    sheet = opened(wide(25))["Wide"]
    assert sheet.page_setup.fitToWidth == 2
    assert sheet.print_title_cols == "$A:$B"
    assert sheet.print_title_rows == "$5:$6"


def test_heads_repeat_for_the_long_table_at_the_end() -> None:
    book = opened(everything(count=40))
    assert book["Frames"].print_title_rows == "$5:$6"
    assert book["Materials"].print_title_rows == "$1:$1"
    assert [b.id for b in book["Client terms"].row_breaks.brk] == []


@pytest.mark.libreoffice
@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_libreoffice_prints_it_on_the_paper_chosen(tmp_path: Path, paper: Paper) -> None:
    (tmp_path / "a.xlsx").write_bytes(workbook_bytes(everything(count=500), {}, paper))
    (tmp_path / "out").mkdir()
    raw = resaved([tmp_path / "a.xlsx"], tmp_path / "out", "pdf")[0].read_bytes()
    boxes = re.findall(rb"/Type/Page/Parent.*?/MediaBox\[0 0 ([\d.]+) ([\d.]+)\]", raw)
    sizes = {tuple(sorted((round(float(w)), round(float(h))))) for w, h in boxes}
    assert sizes == {POINTS[paper]}
    assert 20 < len(boxes) < 80


@pytest.mark.parametrize(("rows", "landscape", "pages"), [(20, True, 1), (40, True, 0), (40, False, 1)])
def test_a_short_sheet_is_kept_on_one_page(rows: int, landscape: bool, pages: int) -> None:  # noqa: FBT001
    draft = Draft("tall", "Tall")
    draft.keys([str(n) for n in range(rows)])
    draft.label("name", "Name", ["A"] * rows)
    book = Book((Sheet("Tall", "workings", "Tall.", (draft.table(),), landscape=landscape),))
    assert opened(book)["Tall"].page_setup.fitToHeight == pages
