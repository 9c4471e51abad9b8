"""There and back: the office changes a workbook, `readback` keeps it beside the job, the job may object."""

import json
import shutil
from decimal import Decimal as D
from pathlib import Path
from typing import Any

import openpyxl
import pytest
import typer
from typer.testing import CliRunner

from estimator.calc.placement import Placement
from estimator.cli.estimate import estimated
from estimator.cli.workbook import register
from estimator.core.errors import InputError
from estimator.office.applied import applied, values_of
from estimator.office.edits import Edit
from estimator.tables.book import book_of
from estimator.workbook.build import workbook_bytes

EXAMPLE = Path(__file__).parents[2] / "examples" / "one_panel"


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """Return a copy of an example's job file, its workbook `job.xlsx` beside it."""
    shutil.copytree(EXAMPLE, tmp_path / "job")
    path = tmp_path / "job" / "job.toml"
    estimate = applied(path).estimate
    number = estimate.job.header.number
    path.with_suffix(".xlsx").write_bytes(workbook_bytes(book_of(estimate), {"job_id": number}, "letter"))
    return path


def cell_of(job: Path, table: str, field: str, index: int = 0) -> tuple[str, int, int]:
    book = book_of(applied(job).estimate)
    return Placement(book).cell(book.table(table)[field], index)


def type_in(job: Path, place: tuple[str, int, int], value: Any) -> None:
    book = openpyxl.load_workbook(job.with_suffix(".xlsx"))
    book[place[0]].cell(place[1], place[2]).value = value
    book.save(job.with_suffix(".xlsx"))


def readback(job: Path, *more: str) -> tuple[int, dict[str, Any]]:
    app = typer.Typer()
    app.callback()(lambda: None)
    register(app)
    arguments = ["readback", str(job.with_suffix(".xlsx")), "--job", str(job), "--json", *more]
    answer = CliRunner().invoke(app, arguments)
    return answer.exit_code, json.loads(answer.stdout)


def test_nothing_changed_writes_nothing(job: Path) -> None:
    code, answer = readback(job)
    assert code == 0
    assert answer["result"]["changes"] == []
    assert not job.with_name("job.edits.toml").exists()


def test_a_price_comes_back_and_moves_the_estimate(job: Path) -> None:
    book = book_of(applied(job).estimate)
    prices = book.table("prices")
    key, old = prices["key"].values[0], prices["price"].values[0]
    assert isinstance(old, D)
    type_in(job, cell_of(job, "prices", "price"), float(old * 2))
    code, answer = readback(job)
    assert code == 0, answer
    change = answer["result"]["changes"][0]
    assert (change["key"], change["was"], change["now"]) == (
        f"prices.price.{key}",
        float(old),
        float(old * 2),
    )
    before, after = answer["result"]["price_before"], answer["result"]["price_after"]
    assert change["effect"] == pytest.approx(after - before, abs=0.005)
    assert after > before
    again = applied(job)
    estimate, warnings = estimated(job)
    assert float(estimate.totals.price) == after
    assert "1 input as the office changed them" in str(warnings[0])
    assert values_of(again.edits) == {f"prices.price.{key}": old * 2}
    assert float(again.estimate.totals.price) == after
    assert readback(job)[1]["result"]["changes"] == []


def test_a_conflict_is_refused_until_decided(job: Path) -> None:
    prices = book_of(applied(job).estimate).table("prices")
    key = f"prices.price.{prices['key'].values[0]}"
    type_in(job, cell_of(job, "prices", "price"), 99.0)
    edits = job.with_name("job.edits.toml")
    number = applied(job).estimate.job.header.number
    text = f'schema = 1\njob_id = "{number}"\n[edits."{key}"]\nwas = 55.5\nnow = 66.6\n'
    edits.write_text(text, encoding="utf-8")
    code, answer = readback(job)
    assert code == 3
    assert answer["problems"][0]["where"] == key
    assert edits.read_text(encoding="utf-8") == text
    with pytest.raises(InputError, match="--keep office or --keep job"):
        applied(job)
    assert applied(job, "job").edits == ()
    assert [(e.key, e.now) for e in applied(job, "office").edits] == [(key, D("66.6"))]
    code, answer = readback(job, "--keep", "office")
    assert code == 0
    assert applied(job).edits == (Edit(key, prices["price"].values[0], D(99)),)


def test_another_jobs_workbook_and_a_broken_cell_change_nothing(job: Path) -> None:
    type_in(job, cell_of(job, "prices", "price"), "dear")
    code, answer = readback(job)
    assert code == 3
    assert "which is no number" in answer["problems"][0]["what"]
    job.with_suffix(".xlsx").write_bytes(
        workbook_bytes(book_of(applied(job).estimate), {"job_id": "other"}, "letter"),
    )
    code, answer = readback(job)
    assert code == 3
    assert "is the workbook of job other" in answer["problems"][0]["what"]
    assert not job.with_name("job.edits.toml").exists()


def test_a_workbook_that_is_not_there_is_said(job: Path) -> None:
    job.with_suffix(".xlsx").unlink()
    code, answer = readback(job)
    assert (code, answer["result"]) == (3, None)


def test_an_input_that_only_an_edit_made_is_no_conflict(job: Path) -> None:
    edits = job.with_name("job.edits.toml")
    number = applied(job).estimate.job.header.number
    head = f'schema = 1\njob_id = "{number}"\n[edits."practice.frame_width_max"]\nwas = 72\nnow = 40\n'
    was = applied(job).estimate.catalogue.practice.values["frame_width_max"].shown
    edits.write_text(head.replace("72", str(was)), encoding="utf-8")
    frames = applied(job).estimate.scope.layout.frames
    assert [f.name for f in frames] == ["N1", "N2"]
    width = book_of(applied(job).estimate).table("frames").value("width", 1)
    more = f'[edits."frames.width.N2"]\nwas = {width}\nnow = 25.5\n'
    edits.write_text(head.replace("72", str(was)) + more, encoding="utf-8")
    one = applied(job).estimate
    assert book_of(one).table("frames").value("width", 1) == D("25.5")
    edits.write_text(head.replace("72", str(was)) + more.replace("N2", "N9"), encoding="utf-8")
    with pytest.raises(InputError, match="the job file no longer has it"):
        applied(job)
