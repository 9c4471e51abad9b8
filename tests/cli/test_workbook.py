"""There and back: the office changes a workbook, `readback` keeps it beside the job, the job may object."""

import json
import shutil
from collections import Counter
from collections.abc import Callable
from decimal import Decimal as D
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from typer.testing import CliRunner

from estimator import pipeline
from estimator.calc.expressions import Value
from estimator.calc.tables import FieldAddresses
from estimator.catalogue.load import load
from estimator.cli.app import gather
from estimator.cli.estimate import estimated
from estimator.core.errors import InputError
from estimator.office import edits as office
from estimator.office import returned
from estimator.office.edits import ALL, Edit, applied, values_of
from estimator.pipeline import estimate
from estimator.tables.book import book_of
from estimator.takeoff.quantities import take_off
from estimator.workbook.build import workbook_bytes
from tests.intake.hostile import sheet

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
    return FieldAddresses(book).cell(book.table(table)[field], index)


def type_in(job: Path, place: tuple[str, int, int], value: Any) -> None:
    book = openpyxl.load_workbook(job.with_suffix(".xlsx"))
    book[place[0]].cell(place[1], place[2]).value = value
    book.save(job.with_suffix(".xlsx"))


def readback(job: Path, *more: str) -> tuple[int, dict[str, Any]]:
    arguments = ["readback", str(job.with_suffix(".xlsx")), "--job", str(job), "--json", *more]
    answer = CliRunner().invoke(gather(), arguments)
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
    with pytest.raises(InputError, match=f"--keep {key}=office or --keep {key}=job"):
        applied(job)
    assert applied(job, {ALL: "job"}).edits == ()
    assert [(e.key, e.now) for e in applied(job, {ALL: "office"}).edits] == [(key, D("66.6"))]
    code, answer = readback(job, "--keep", "office")
    assert code == 0
    assert applied(job).edits == (Edit(key, prices["price"].values[0], D(99)),)


def test_each_change_alone_then_all_together_on_price_and_total(job: Path) -> None:
    """A price and its waste lean on each other: together they move more than the sum of each alone."""
    before = applied(job).estimate
    rows = book_of(before).table("prices")["key"].values
    row, share = rows.index("member-2x2-8"), 0.5
    type_in(job, cell_of(job, "prices", "price", row), 40.0)
    type_in(job, cell_of(job, "terms", "margin_asked"), share)
    answer = readback(job)[1]["result"]
    alone, both = answer["changes"], answer["together"]
    assert [c["key"] for c in alone] == ["terms.margin_asked", "prices.price.member-2x2-8"]
    job_, catalogue, _ = load(job)
    edits: dict[str, Value] = {"prices.price.member-2x2-8": D(40), "terms.margin_asked": D(str(share))}
    for change in alone:
        one = estimate(job_, catalogue, {change["key"]: edits[change["key"]]}).totals
        assert change["effect"] == float(one.price - before.totals.price)
        assert change["effect_total"] == float(one.total - before.totals.total)
    now = estimate(job_, catalogue, edits).totals
    assert both == {
        "price": float(now.price - before.totals.price),
        "total": float(now.total - before.totals.total),
    }
    assert both["price"] > sum(change["effect"] for change in alone)
    assert answer["total_after"] == float(now.total)


def test_many_changes_are_priced_together_only(job: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(returned, "MOST_PRICED_ALONE", 1)
    type_in(job, cell_of(job, "prices", "price"), 99.0)
    type_in(job, cell_of(job, "terms", "margin_asked"), 0.5)
    said = CliRunner().invoke(gather(), ["readback", str(job.with_suffix(".xlsx")), "--job", str(job)]).stdout
    assert "2 changes are too many to price one by one\ntogether: price +" in said


def test_an_edit_is_estimated_once(job: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Before and after it, and no more: the change alone is what all changes come to."""
    type_in(job, cell_of(job, "prices", "price"), 99.0)
    seen: list[str] = []

    def counted(name: str, work: Callable[..., Any]) -> Callable[..., Any]:
        def told(*words: Any, **more: Any) -> Any:
            seen.append(name)
            return work(*words, **more)

        return told

    monkeypatch.setattr(office, "estimate", counted("estimate", estimate))
    monkeypatch.setattr(pipeline, "take_off", counted("takeoff", take_off))
    assert readback(job)[0] == 0
    assert Counter(seen) == {"estimate": 2, "takeoff": 2}
    seen.clear()
    estimated(job)
    assert Counter(seen) == {"estimate": 2, "takeoff": 2}


def test_conflicts_are_decided_one_at_a_time(job: Path) -> None:
    keys = [f"prices.price.{key}" for key in book_of(applied(job).estimate).table("prices")["key"].values[:2]]
    number = applied(job).estimate.job.header.number
    entries = "".join(f'[edits."{key}"]\nwas = 55.5\nnow = 66.6\n' for key in keys)
    edits = job.with_name("job.edits.toml")
    edits.write_text(f'schema = 1\njob_id = "{number}"\n{entries}', encoding="utf-8")
    code, answer = readback(job, "--keep", f"{keys[0]}=office")
    assert (code, [p["where"] for p in answer["problems"]]) == (3, [keys[1]])
    code, answer = readback(job, "--keep", f"{keys[0]}=office", "--keep", "prices.price.typo=job")
    assert [p["where"] for p in answer["problems"]] == [keys[1], "--keep"]
    code, answer = readback(job, "--keep", f"{keys[0]}=office", "--keep", "job")
    assert code == 0
    assert [(e.key, e.now) for e in applied(job).edits] == [(keys[0], D("66.6"))]
    wrong = ["readback", str(job.with_suffix(".xlsx")), "--job", str(job), "--keep", "both"]
    assert CliRunner().invoke(gather(), wrong).exit_code == 2


@pytest.mark.parametrize("lock", [".~lock.job.xlsx#", "~$job.xlsx"])
def test_a_workbook_open_in_another_program_gets_a_word(job: Path, lock: str) -> None:
    assert "job.xlsx" not in {p["where"] for p in readback(job)[1]["problems"]}
    job.with_name(lock).write_text("someone", encoding="utf-8")
    code, answer = readback(job)
    (told,) = (p for p in answer["problems"] if p["where"] == "job.xlsx")
    assert (code, told["severity"]) == (0, "warning")
    assert "open in another program; what is not saved there is not read" in told["what"]


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


def test_a_harmful_workbook_is_refused_before_anything_is_worked_out(
    job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    job.with_suffix(".xlsx").write_bytes(sheet(b"<a>" * 1_000_000))
    monkeypatch.setattr(office, "estimate", None)
    code, answer = readback(job)
    assert code == 3
    assert "elements over 32 deep" in answer["problems"][0]["what"]
