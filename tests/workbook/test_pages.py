"""What is printed: paper, repeated heads, pages side by side; and no number wider than its column."""

import io
import re
from collections.abc import Callable
from decimal import Decimal as D
from itertools import pairwise
from pathlib import Path

import openpyxl
import pytest
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.pagebreak import Break
from openpyxl.worksheet.properties import PageSetupProperties

from estimator.calc.tables import Book, Draft, Sheet
from estimator.workbook.build import workbook_bytes
from estimator.workbook.pages import Paper
from estimator.workbook.styles import SERIES
from tests.workbook.books import everything
from tests.workbook.delivered import cells
from tests.workbook.recalculate import resaved
from tests.workbook.rules_of_pages import PAGE_RULES, page_breaches

Fault = Callable[[openpyxl.Workbook], None]

POINTS = {"a4": (595, 842), "letter": (612, 792)}
"""Paper in points of 1/72 in: ISO 216 A4 is 210 × 297 mm, ANSI letter 8 1/2 × 11 in."""


def opened(book: Book) -> openpyxl.Workbook:
    return openpyxl.load_workbook(io.BytesIO(workbook_bytes(book, {"title": "Hall"}, "a4")), data_only=True)


def test_the_invented_book_prints_by_every_rule() -> None:
    papers: tuple[Paper, ...] = ("a4", "letter")
    for paper in papers:
        assert page_breaches(workbook_bytes(everything(), {}, paper)) == {}


def _set(sheet: str, **values: object) -> Fault:
    def plant(book: openpyxl.Workbook) -> None:
        for name, value in values.items():
            setattr(book[sheet].page_setup, name, value)

    return plant


def _narrowed(book: openpyxl.Workbook) -> None:
    book["Frames"].column_dimensions["E"].width = 3


def _cut(book: openpyxl.Workbook) -> None:
    book["Price"].print_area = "B1:C20"


def _lowered(book: openpyxl.Workbook) -> None:
    book["About"].row_dimensions[11].height = 14


def _unrepeated(book: openpyxl.Workbook) -> None:
    book["Frames"].print_title_rows = "1:1"


def _nameless(book: openpyxl.Workbook) -> None:
    book["Frames"].HeaderFooter.oddFooter.left.text = ""


def _stretched(book: openpyxl.Workbook) -> None:
    book["Frames"].column_dimensions["B"].width = 200


def _keyed(book: openpyxl.Workbook) -> None:
    book["Frames"]["C9"].value = "cavity_area"


def _broken(sheet: str, *rows: int) -> Fault:
    def plant(book: openpyxl.Workbook) -> None:
        setup = book[sheet].sheet_properties.pageSetUpPr
        book[sheet].sheet_properties.pageSetUpPr = setup and PageSetupProperties(fitToPage=False)
        for row in rows:
            book[sheet].row_breaks.append(Break(id=row))

    return plant


def _ragged(book: openpyxl.Workbook) -> None:
    book["Frames"]["D9"].number_format = "#,##0.0"


def _folded(book: openpyxl.Workbook) -> None:
    book["Frames"]["B3"].value = "Inputs: change the framed cells, " * 9


FAULTS: dict[str, list[Fault]] = {
    "one_page_wide": [_set("About", fitToWidth=2), _set("About", fitToHeight=3)],
    "readable": [_stretched, _set("Frames", fitToHeight=1, orientation="landscape")],
    "whole_area": [_cut],
    "heads_repeat": [_unrepeated],
    "rows_high_enough": [_lowered],
    "numbers_fit": [_narrowed],
    "in_words": [_keyed],
    "no_thin_page": [_broken("Frames", 125)],
    "no_empty_page": [_broken("Client terms", 16, 18)],
    "decimals_even": [_ragged],
    "heads_whole": [_folded],
    "pages_named": [_nameless],
}


@pytest.mark.parametrize("rule", [rule.__name__ for rule in PAGE_RULES])
def test_each_rule_notices_its_faults(rule: str) -> None:
    for plant in FAULTS[rule]:
        book = openpyxl.load_workbook(io.BytesIO(workbook_bytes(everything(count=120), {}, "letter")))
        plant(book)
        out = io.BytesIO()
        book.save(out)
        assert rule in page_breaches(out.getvalue())


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
    assert sheet.row_dimensions[11].height == 3 * 12 + 2
    assert sheet.row_dimensions[12].height is None


def wide(columns: int) -> Book:
    draft = Draft("wide", "Wide")
    draft.keys(["a"])
    draft.label("name", "Name", ["A"])
    for number in range(columns):
        draft.label(f"c{number}", "Column", ["some text"])
    return Book((Sheet("Wide", "workings", "Wide.", (draft.table(),)),))


def linked() -> Book:
    draft = Draft("linked", "Linked")
    draft.keys(["a"])
    draft.label("name", "Name", ["A"])
    draft.link("other", "Other", ["other_key"])
    draft.decided("size", "Size", "in", [D(1)])
    return Book((Sheet("Linked", "workings", "Linked.", (draft.table(),)),))


def test_keys_that_only_formulas_read_are_hidden_and_the_way_back_is_not() -> None:
    raw = workbook_bytes(linked(), {}, "a4")
    sheet = openpyxl.load_workbook(io.BytesIO(raw))["Linked"]
    assert sheet.column_dimensions["C"].hidden
    assert not sheet.column_dimensions["D"].hidden
    assert (sheet["C3"].value, sheet["D3"].value) == (None, "To the contents")
    assert page_breaches(raw) == {}


def test_the_cursor_stands_in_a_cell_to_be_seen_below_the_heads() -> None:
    for sheet in opened(everything()).worksheets:
        below = str(sheet.freeze_panes)
        first = f"B{below[1:]}" if below.startswith("A") else below
        assert {s.activeCell for s in sheet.sheet_view.selection} == {first}


def test_a_sheet_of_one_column_keeps_its_heads_in_sight_and_lets_the_column_go() -> None:
    draft = Draft("said", "Said")
    draft.keys(["a"])
    draft.label("text", "Text", ["x"])
    book = Book((Sheet("Said", "control", "Said.", (draft.table(),)),))
    assert opened(book)["Said"].freeze_panes == "A8"


def test_the_answer_of_a_head_is_not_broken_and_words_stand_with_numbers() -> None:
    draft = Draft("asked", "Asked")
    draft.keys(["a"])
    draft.label("name", "Name", ["A"])
    draft.decided("fixed", "Fixed (1 = yes)", "", [D(1)], places=0)
    form = Draft("form", "Form", "across")
    form.decided("size", "Size", "in", [D(1)])
    form.decided("kind", "Kind", "", ["mitre"])
    sheet = opened(Book((Sheet("Asked", "workings", "Asked.", (draft.table(), form.table())),)))["Asked"]
    assert "Fixed (1\u00a0=\u00a0yes)" in {c.value for c in sheet["C"]}
    assert {c.alignment.horizontal for c in sheet["D"] if c.value in {1, "mitre", "Value"}} == {"right"}


def test_a_wide_sheet_is_cut_between_columns_on_purpose() -> None:
    assert opened(wide(12))["Wide"].page_setup.fitToWidth == 1
    book = opened(wide(25))
    sheet = book["Wide"]
    assert [b.id for b in sheet.col_breaks.brk] == [15]
    assert sheet.print_title_cols == "$B:$B"
    assert sheet.print_title_rows is None
    assert page_breaches(workbook_bytes(wide(25), {}, "a4")) == {}


def test_heads_repeat_for_the_long_table_at_the_end() -> None:
    book = opened(everything(count=60))
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


@pytest.mark.parametrize(("rows", "pages"), [(20, 1), (40, 1), (80, 0), (300, 0)])
def test_a_short_sheet_is_kept_on_one_page(rows: int, pages: int) -> None:
    draft = Draft("tall", "Tall")
    draft.keys([str(n) for n in range(rows)])
    draft.label("name", "Name", ["A"] * rows)
    first = Sheet("First", "control", "It carries the legend.", ())
    book = Book((first, Sheet("Tall", "workings", "Tall.", (draft.table(),))))
    assert (opened(book)["Tall"].page_setup.fitToHeight or 0) == pages


def test_fills_of_pictures_differ_in_grey() -> None:
    # Luma of ITU-R BT.601: 0.299 R + 0.587 G + 0.114 B.
    parts = [[int(fill[n : n + 2], 16) for n in (0, 2, 4)] for fill in SERIES]
    greys = sorted(0.299 * r + 0.587 * g + 0.114 * b for r, g, b in parts)
    assert min(b - a for a, b in pairwise(greys)) > 255 / 6
