"""`battenbook learn`: shows, and writes only when told to."""

import json
from pathlib import Path

import pytest
from openpyxl import load_workbook
from typer.testing import CliRunner

from estimator.catalogue.labour import load_labour
from estimator.cli.app import gather

ROWS = "job,task,quantity,unit,hours,difficulty\n26-1,wrap,100,ft,3.5,\n26-2,wrap,61,m,7.5,1.2\n"


def actuals(tmp_path: Path, text: str = ROWS) -> Path:
    path = tmp_path / "actuals.csv"
    path.write_text(text)
    return path


def test_learn_shows_old_new_and_jobs(tmp_path: Path) -> None:
    got = CliRunner().invoke(gather(), ["learn", str(actuals(tmp_path)), "--json"])
    (rate,) = json.loads(got.stdout)["result"]["rates"]
    # (3.5 + 7.5 / 1.2) h on 100 ft + 61 m: 9.75 h / 300.13 ft = 1.949 min.
    # (5 x 1.517 + 2 x 1.949) / 7 = 1.640.
    assert (rate["task"], rate["jobs"]) == ("wrap", 2)
    assert (rate["old_minutes"], rate["data_minutes"], rate["new_minutes"]) == (1.517, 1.949, 1.64)
    assert list(tmp_path.iterdir()) == [tmp_path / "actuals.csv"]


def test_learn_writes_when_told_and_never_over_a_file(tmp_path: Path) -> None:
    target = tmp_path / "rates.toml"
    arguments = ["learn", str(actuals(tmp_path)), "--write", str(target)]
    assert CliRunner().invoke(gather(), arguments).exit_code == 0
    assert str(load_labour(target).by_key["wrap"].likely) == "1.514"
    before = target.read_text()
    refused = CliRunner().invoke(gather(), [*arguments, "--weight", "0"])
    assert refused.exit_code == 4
    assert target.read_text() == before
    assert CliRunner().invoke(gather(), [*arguments, "--weight", "0", "--force"]).exit_code == 0
    assert target.read_text() != before


def test_learn_names_what_it_cannot_use(tmp_path: Path) -> None:
    got = CliRunner().invoke(gather(), ["learn", str(actuals(tmp_path, ROWS + "26-3,warp,1,ft,1,\n"))])
    assert got.exit_code == 3
    assert "Did you mean 'wrap'?" in got.stderr


JOB = Path(__file__).parents[2] / "examples" / "one_panel" / "job.toml"


def test_learn_reads_hours_from_the_workbook_of_a_finished_job(tmp_path: Path) -> None:
    made = CliRunner().invoke(gather(), ["estimate", str(JOB), "--out", str(tmp_path), "--json"])
    book = next(Path(f) for f in json.loads(made.stdout)["result"]["files"] if f.endswith(".xlsx"))
    workbook = load_workbook(book)
    sheet = workbook["Actuals"]
    row = next(r for r in sheet.iter_rows() if any(c.value == "wrap" for c in r))
    keys = next(r for r in sheet.iter_rows() if any(c.value == "spent" for c in r))
    place = next(n for n, c in enumerate(keys) if c.value == "spent")
    row[place].value = 1.25
    workbook.save(book)
    got = CliRunner().invoke(gather(), ["learn", "--job", str(JOB), "--workbook", str(book), "--json"])
    (rate,) = json.loads(got.stdout)["result"]["rates"]
    assert (rate["task"], rate["jobs"], rate["hours"]) == ("wrap", 1, 1.25)
    assert rate["data_minutes"] == round(60 * 1.25 / rate["quantity"], 3)


def test_learn_wants_hours_and_pairs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("BATTENBOOK_ARCHIVE", "")
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    monkeypatch.setenv("XDG_CONFIG_DIRS", "")
    nothing = CliRunner().invoke(gather(), ["learn"])
    assert nothing.exit_code == 3
    assert "there is nothing to learn from" in nothing.stderr
    assert "no archive was named" in nothing.stderr
    alone = CliRunner().invoke(gather(), ["learn", "--job", str(JOB)])
    assert "each workbook needs its job" in alone.stderr
    assert alone.exit_code == 3
