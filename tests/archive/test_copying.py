"""A filed quote copied out is a job like any other, at the price that was filed, whatever is shipped."""

import datetime as dt
import json
import shutil
from decimal import Decimal as D
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from estimator.archive.gather import gather
from estimator.archive.store import file_quote
from estimator.cli.app import gather as command
from estimator.office.edits import Edit, applied, edits_path, save_edits
from tests.archive.test_five_years_later import NAMES, ROOT, later, own_files, say

__all__ = ["later"]
NOW = dt.datetime(2026, 3, 2, tzinfo=dt.UTC)
PRICE = """
import sys
from pathlib import Path
from estimator.office.edits import applied
print(applied(Path(sys.argv[1])).estimate.totals.price)
"""


def says(*words: str | Path) -> tuple[int, dict[str, Any]]:
    done = CliRunner().invoke(command(), [*map(str, words), "--json"])
    return done.exit_code, json.loads(done.stdout)


@pytest.fixture(params=NAMES)
def job(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    """Return an example, or a job with files of its own; one has an edit of the office's."""
    if request.param == "own_files":
        return own_files(tmp_path)
    job = shutil.copytree(ROOT / "examples" / str(request.param), tmp_path / "desk") / "job.toml"
    if request.param == "one_panel":
        save_edits(edits_path(job), [Edit("waste.share.board", D("0.08"), D("0.25"))], "2026-001")
    return job


def test_a_copy_comes_to_the_filed_price_with_other_shipped_tables(
    job: Path, tmp_path: Path, later: Path, shared: Path
) -> None:
    quote, sources = gather(job, applied(job).estimate)
    root, out = tmp_path / "archive", tmp_path / "copy"
    file_quote(root, quote, sources, NOW)
    code, answer = says("archive", "copy", quote.number, "--archive", root, "--out", out)
    assert code == 0, answer
    shutil.rmtree(root)
    copy = Path(answer["result"]["files"][0])
    for program in (ROOT, later):
        assert say(PRICE, shared, str(copy), program=program).strip() == str(quote.totals.price), program


def test_a_copy_can_be_filed_again_and_copied_again(tmp_path: Path) -> None:
    job = own_files(tmp_path)
    quote, sources = gather(job, applied(job).estimate)
    root = ("--archive", tmp_path / "archive")
    file_quote(tmp_path / "archive", quote, sources, NOW)
    for revision in (0, 1):
        out = tmp_path / f"copy-{revision}"
        assert says("archive", "copy", "2026-001", *root, "--out", out)[0] == 0
        copy = out / "job.toml"
        copy.write_text(copy.read_text() + "\n# gone on from\n")
        code, answer = says("archive", "add", copy, *root)
        assert (code, answer["result"]["revision"]) == (0, revision + 1), answer
        assert says("compare", "2026-001-r0", copy, *root)[1]["result"]["totals"][0]["change"] == 0


def test_a_copy_never_writes_over_what_is_there(tmp_path: Path) -> None:
    job = own_files(tmp_path)
    quote, sources = gather(job, applied(job).estimate)
    file_quote(tmp_path / "archive", quote, sources, NOW)
    words = ("archive", "copy", "2026-001", "--archive", tmp_path / "archive", "--out", tmp_path / "copy")
    (tmp_path / "copy/catalogue").mkdir(parents=True)
    (tmp_path / "copy/catalogue/prices.csv").write_text("mine")
    assert says(*words)[0] == 4
    assert [p.name for p in (tmp_path / "copy").rglob("*") if p.is_file()] == ["prices.csv"]
    save_edits(
        tmp_path / "copy/job.edits.toml", [Edit("waste.share.board", D("0.08"), D("0.25"))], "2026-001"
    )
    assert says(*words, "--force")[0] == 0
    assert applied(tmp_path / "copy/job.toml").estimate.totals.price == quote.totals.price, (
        "no edit but its own"
    )
    assert (
        says("archive", "copy", "2026-999", "--archive", tmp_path / "archive", "--out", tmp_path / "x")[0]
        == 3
    )
    assert not (tmp_path / "x").exists()


def test_a_folder_of_tables_that_is_not_there_is_told_with_its_line(tmp_path: Path) -> None:
    text = (ROOT / "examples/one_panel/job.toml").read_text()
    job = tmp_path / "job.toml"
    job.write_text(text.replace('"CAD"', '"CAD"\ntables = "gone"', 1))
    code, answer = says("check", job)
    [problem] = answer["problems"]
    line = 1 + job.read_text().splitlines().index('tables = "gone"')
    assert (code, problem["where"], problem["line"]) == (3, "job.tables", line)
