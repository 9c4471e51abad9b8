"""Everything an estimate writes: all of it or nothing, by the names one expects."""

import io
from datetime import date
from decimal import Decimal
from pathlib import Path

import openpyxl
import pytest

from estimator.core.errors import InputError, OutputError
from estimator.documents.files import Wishes, contents, papers, write_all
from estimator.documents.pdf import Way, pdf, way
from estimator.documents.render import copy_templates, rendered, shipped
from estimator.documents.sandbox import day, number, percent
from tests.documents.made import KINDS
from tests.examples import estimate_of


def test_workbook_and_papers_are_written_together(tmp_path: Path) -> None:
    made = estimate_of("one_panel")
    files = write_all(made, tmp_path / "out", Wishes(), force=False)
    names = {f"2026-001-{kind}.html" for kind in KINDS} | {"2026-001-workbook.xlsx"}
    assert {f.name for f in files} == {p.name for p in (tmp_path / "out").iterdir()} == names
    with pytest.raises(OutputError, match="is there already"):
        write_all(made, tmp_path / "out", Wishes(), force=False)
    write_all(made, tmp_path / "out", Wishes(), force=True)


def test_the_papers_are_the_same_every_time() -> None:
    made = estimate_of("rehearsal_room")
    assert papers(made, Wishes()) == papers(made, Wishes())


@pytest.mark.parametrize(
    ("name", "asked", "size", "code"),
    [
        ("one_panel", "", "letter", 1),
        ("voice_booth", "", "A4", 9),
        ("one_panel", "a4", "A4", 9),
        ("voice_booth", "letter", "letter", 1),
    ],
)
def test_paper_follows_the_units_the_job_is_shown_in(name: str, asked: str, size: str, code: int) -> None:
    """Paper codes of a sheet: ECMA-376-1, 18.3.1.63 pageSetup, paperSize: 1 Letter, 9 A4."""
    files = contents(estimate_of(name), Wishes(paper=asked))
    book = next(body for file, body in files.items() if file.endswith(".xlsx"))
    sheets = openpyxl.load_workbook(io.BytesIO(book)).worksheets
    assert {sheet.page_setup.paperSize for sheet in sheets} == {code}
    pages = [body.decode() for file, body in files.items() if file.endswith(".html")]
    assert pages
    assert all(f"@page {{ size: {size};" in page for page in pages)


def test_an_unknown_paper_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="'legal' is not known here"):
        write_all(estimate_of("one_panel"), tmp_path, Wishes(paper="legal"), force=False)


def test_a_pdf_that_cannot_be_made_is_told_and_nothing_is_written(tmp_path: Path) -> None:
    broken = Way("chromium", str(tmp_path / "no-such-program"))
    with pytest.raises(OutputError, match="chromium made no PDF"):
        write_all(estimate_of("one_panel"), tmp_path / "out", Wishes(pdf=broken), force=False)
    assert not (tmp_path / "out").exists()


@pytest.mark.chromium
def test_a_pdf_of_each_paper_is_made_on_the_paper_asked_for() -> None:
    chosen = way()
    assert chosen is not None
    page = papers(estimate_of("one_panel"), Wishes(paper="a4"))["2026-001-quote.html"]
    made = pdf(page, chosen)
    assert made.startswith(b"%PDF-")
    assert len(made) > 10_000


def test_no_way_to_a_pdf_is_no_way(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.setattr("importlib.util.find_spec", lambda _: None)
    assert way() is None


def test_a_program_on_the_path_is_a_way(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    program = tmp_path / "google-chrome"
    program.write_text("#!/bin/sh\n")
    program.chmod(0o755)
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.setattr("importlib.util.find_spec", lambda _: None)
    assert way() == Way("google-chrome", str(program))


def test_an_offices_own_template_goes_before_the_shipped_one(tmp_path: Path) -> None:
    copied = copy_templates(tmp_path / "own")
    assert {p.name for p in copied} == {p.name for p in shipped().iterdir()}
    quote = tmp_path / "own" / "quote.html"
    quote.write_text(quote.read_text(encoding="utf-8").replace("What is built", "Our work"), encoding="utf-8")
    (tmp_path / "own" / "site.html").unlink()
    found = papers(estimate_of("one_panel"), Wishes(templates=tmp_path / "own"))
    assert b"Our work" in found["2026-001-quote.html"]
    assert b"Before you start" in found["2026-001-site.html"]


def test_a_template_with_an_unknown_name_is_refused_with_its_line(tmp_path: Path) -> None:
    (tmp_path / "quote.html").write_text("<p>\n{{ no_such_name }}", encoding="utf-8")
    with pytest.raises(OutputError, match="no_such_name"):
        rendered({"quote.html": {}}, tmp_path)
    (tmp_path / "quote.html").write_text("<p>\n{% if %}", encoding="utf-8")
    with pytest.raises(OutputError) as refused:
        rendered({"quote.html": {}}, tmp_path)
    assert refused.value.problems[0].line == 2


def test_copies_never_overwrite(tmp_path: Path) -> None:
    copy_templates(tmp_path)
    with pytest.raises(OutputError, match="is there already"):
        copy_templates(tmp_path)


def test_numbers_and_days_read_the_same_on_both_sides_of_the_ocean() -> None:
    assert day(date(2026, 3, 2)) == "2 March 2026"
    assert percent(Decimal("0.13")) == "13 %"
    assert percent(Decimal("0.09975")) == "9.98 %"
    assert number(Decimal("1234.50")) == "1,234.5"
    assert number(Decimal(100)) == "100"
