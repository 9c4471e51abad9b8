"""Every example's workbook as the office prints it, on both papers: set up in the file, then as pages."""

import itertools
import os
import re
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest
from openpyxl.worksheet.worksheet import Worksheet

from estimator.catalogue.load import load
from estimator.pipeline import estimate
from estimator.tables.book import book_of
from estimator.workbook.build import workbook_bytes
from estimator.workbook.pages import Paper
from tests.examples import FOLDER, NAMES, loaded, workbook_of
from tests.workbook.delivered import Delivered, cells
from tests.workbook.recalculate import resaved
from tests.workbook.rules_of_pages import coded, groups, height, page_breaches, pages, seen, width

UNSHOWN = re.compile(r"###|#(?:REF|NAME|VALUE|DIV/0|N/A)|Err:\d+")
PAPERS: tuple[Paper, ...] = ("a4", "letter")
FEWEST_WORDS = 20
"""Words on a page of several, heads and foot among them, else to be filled in; common practice, no source."""


QUICK = list(zip(NAMES, itertools.cycle(PAPERS), strict=False))
"""Each example on one paper; the other takes as long."""


@pytest.mark.parametrize(
    ("name", "paper"),
    [
        pytest.param(*pair, marks=() if pair in QUICK else pytest.mark.slow)
        for pair in itertools.product(NAMES, PAPERS)
    ],
)
def test_every_sheet_is_set_up_to_print(name: str, paper: Paper) -> None:
    assert page_breaches(workbook_of(name, paper)) == {}


def _said(file: Delivered, *but: str) -> Iterator[tuple[str, str]]:
    """Yield where and what every text is that can be seen, codes left out, on all sheets but some."""
    for sheet in seen(file):
        codes = coded(file, sheet)
        for cell in cells(file.values[sheet.title]) if sheet.title not in but else ():
            open_to_view = width(sheet, cell.column, cell.column) and height(sheet, cell.row)
            if isinstance(cell.value, str) and open_to_view and cell.coordinate not in codes:
                yield f"{sheet.title}!{cell.coordinate}", cell.value


@pytest.mark.parametrize("name", NAMES)
def test_things_are_called_by_their_names(name: str) -> None:
    """No key of the price list is shown; cautions name rows of the office's own files, which have keys."""
    _, catalogue = loaded(name)
    keys = {key for item in catalogue.items for key in (item.key, item.product) if "-" in key}
    found = re.compile("|".join(rf"(?<![\w-]){re.escape(key)}(?![\w-])" for key in sorted(keys)))
    shown = [(where, text) for where, text in _said(Delivered(workbook_of(name, "a4")), "Cautions")]
    assert [(where, text) for where, text in shown if found.search(text)] == []


def test_a_metric_job_shows_no_feet() -> None:
    said = list(_said(Delivered(workbook_of("voice_booth", "a4"))))
    assert len(said) > 1000
    feet = [(where, text) for where, text in said if re.search(r"\bft[²³]?\b", text)]
    assert [(where, text) for where, text in feet if "(from memory)" not in text] == []


@pytest.mark.slow
@pytest.mark.libreoffice
def test_pages_are_whole_and_none_stands_beside_another_by_accident(tmp_path: Path) -> None:
    if not shutil.which("pdftotext") and not os.environ.get("CI"):
        pytest.skip("pdftotext is not installed here")
    (tmp_path / "out").mkdir()
    papers = zip(NAMES, itertools.cycle(PAPERS), strict=False)
    made = {f"{name}-{paper}": workbook_of(name, paper) for name, paper in papers}
    for name, raw in made.items():
        (tmp_path / f"{name}.xlsx").write_bytes(raw)
    found = resaved([tmp_path / f"{name}.xlsx" for name in made], tmp_path / "out", "pdf")
    wrong = [fault for path in found for fault in _faults(path, Delivered(made[path.stem]))]
    assert wrong == []


def _texts(path: Path) -> list[str]:
    command = ["pdftotext", "-layout", str(path), "-"]
    return subprocess.run(command, capture_output=True, text=True, check=True).stdout.split("\f")[:-1]


def _faults(path: Path, delivered: Delivered) -> Iterator[str]:
    texts = _texts(path)
    at = 0
    for sheet in seen(delivered):
        own = []
        while at < len(texts) and _head(texts[at]).endswith(f" {sheet.title}"):
            own.append(texts[at])
            at += 1
        where = f"{path.stem}, {sheet.title}"
        whole = len(own) % len(groups(sheet)) == 0 or len(own) == _inked(sheet)
        if not own or not whole:
            yield f"{where}: {len(own)} pages for {len(groups(sheet))} groups of columns"
        yield from (f"{where}: {fault}" for text in own for fault in UNSHOWN.findall(text))
        if len(own) > 1 and min(len(text.split()) for text in own) < FEWEST_WORDS:
            yield f"{where}: a page nearly empty"
        if len(groups(sheet)) == 1:
            yield from (f"{where}: no last column on page {n}" for n in _narrow(own, delivered, sheet.title))
    if at != len(texts):
        yield f"{path.stem}: page {at + 1} belongs to no sheet in its place"


def _inked(sheet: Worksheet) -> int:
    """Return the pages that have something on them: an empty one beside another is not printed."""
    filled = {(cell.row, cell.column) for cell in cells(sheet)}
    return sum(
        any((row, column) in filled for row in rows for column in range(first, last + 1))
        for rows in pages(sheet)
        for first, last in groups(sheet)
    )


def _head(text: str) -> str:
    return next((line.rstrip() for line in text.splitlines() if line.strip()), "")


def _narrow(own: list[str], delivered: Delivered, title: str) -> Iterator[int]:
    """Yield pages of a sheet whose one table repeats its heads but lacks that of the last column."""
    blocks = [b for b in delivered.blocks if b.sheet == title]
    if len(blocks) != 1 or not blocks[0].down:
        return
    last = str(delivered.book[title].cell(blocks[0].keys - 2, blocks[0].right).value)
    yield from (n for n, text in enumerate(own, start=1) if last.split(maxsplit=1)[0] not in text)


def _long_job() -> str:
    """Return an invented job of four long walls, three bands each: tables that run over many pages."""
    example = (FOLDER / "rehearsal_room" / "job.toml").read_text(encoding="utf-8")
    head = example[: example.index("[[room.wall]]")]
    make_up = example[example.index("[make-up.standard]") : example.index("[[wall]]")]
    sides = (("north", 90), ("east", 60), ("south", 90), ("west", 60))
    room = "".join(f'[[room.wall]]\nname = "{n}"\nlength = "{feet} ft"\n' for n, feet in sides)
    bands = (("low", 6), ("mid", 36), ("high", 66))
    walls = "".join(
        f'[[wall]]\nname = "{n} {band}"\non = "{n}"\nmake-up = "standard"\n'
        f'band = {{ bottom = "{bottom} in", height = "28 in" }}\n'
        for n, _ in sides
        for band, bottom in bands
    )
    return head + room + make_up + walls


@pytest.mark.slow
def test_a_large_job_is_set_up_to_print(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text(_long_job(), encoding="utf-8")
    job, catalogue, _ = load(path)
    result = estimate(job, catalogue)
    assert len(result.scope.layout.frames) > 100
    assert page_breaches(workbook_bytes(book_of(result), {"title": "A long job"}, "letter")) == {}
