"""The verbs new, check and schema, as their user starts them."""

import json
from pathlib import Path

import pytest
import typer
from typer.testing import CliRunner

from estimator.cli.app import gather

EXAMPLES = Path(__file__).parents[2] / "examples"
runner = CliRunner()


@pytest.fixture
def app() -> typer.Typer:
    return gather()


@pytest.mark.parametrize("metric", [[], ["--metric"]])
def test_a_new_job_file_checks_without_an_error(app: typer.Typer, tmp_path: Path, metric: list[str]) -> None:
    path = tmp_path / "job.toml"
    words = ["--number", "2026-007", "--title", 'The "long" room', "--client", "Ann \\ Co"]
    words += ["--date", "2026-03-02"]
    assert runner.invoke(app, ["new", str(path), *words, *metric]).exit_code == 0
    assert 'title = "The \\"long\\" room"' in path.read_text(encoding="utf-8")
    result = runner.invoke(app, ["check", str(path), "--json"])
    body = json.loads(result.stdout)
    assert result.exit_code == 0
    assert {problem["severity"] for problem in body["problems"]} <= {"caution"}
    assert body["result"]["title"] == 'The "long" room'


def test_new_never_writes_over_a_file_unless_told(app: typer.Typer, tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text("mine", encoding="utf-8")
    assert runner.invoke(app, ["new", str(path)]).exit_code == 4
    assert path.read_text(encoding="utf-8") == "mine"
    assert runner.invoke(app, ["new", str(path), "--force"]).exit_code == 0
    assert "schema = 1" in path.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (["--number", "a/b"], 3),
        (["--title", ""], 3),
        (["--client", "a\nb"], 2),
        (["--client", "a\x7fb"], 2),
        (["--date", "today"], 3),
    ],
)
def test_new_writes_nothing_when_anything_is_refused(
    app: typer.Typer, tmp_path: Path, words: list[str], code: int
) -> None:
    result = runner.invoke(app, ["new", str(tmp_path / "job.toml"), *words])
    assert result.exit_code == code
    assert list(tmp_path.iterdir()) == []


def test_check_prints_the_pieces(app: typer.Typer) -> None:
    result = runner.invoke(app, ["check", str(EXAMPLES / "chapel_annex" / "job.toml")])
    assert result.exit_code == 0
    assert (
        result.stdout
        == "2026-027 Chapel annex, choir practice: no errors. To build: N, C, E, T, R, S, K, L (17 frames).\n"
    )


def test_check_ends_with_3_and_one_json_object_when_anything_is_wrong(app: typer.Typer) -> None:
    path = EXAMPLES / "broken" / "names" / "job.toml"
    result = runner.invoke(app, ["check", str(path), "--json"])
    body = json.loads(result.stdout)
    assert result.exit_code == 3
    assert body["result"] is None
    assert len(body["problems"]) == len(
        (path.parent / "expected.txt").read_text(encoding="utf-8").splitlines()
    )
    assert set(body["problems"][0]) == {"where", "what", "fix", "file", "line", "severity"}


def test_check_tells_a_person_on_the_error_stream(app: typer.Typer) -> None:
    path = EXAMPLES / "broken" / "nothing" / "job.toml"
    result = runner.invoke(app, ["check", str(path)])
    assert result.exit_code == 3
    assert result.stdout == ""
    assert result.stderr.startswith(f"error: {path}:4: job: there is nothing to build.")


def test_a_file_that_is_not_there(app: typer.Typer, tmp_path: Path) -> None:
    result = runner.invoke(app, ["check", str(tmp_path / "none.toml")])
    assert result.exit_code == 3
    assert "no such file" in result.stderr


def test_the_schema_is_printed_or_written(app: typer.Typer, tmp_path: Path) -> None:
    printed = json.loads(runner.invoke(app, ["schema"]).stdout)
    path = tmp_path / "job.schema.json"
    assert runner.invoke(app, ["schema", "--out", str(path)]).exit_code == 0
    assert json.loads(path.read_text(encoding="utf-8")) == printed
    assert printed["title"] == "battenbook job file"
    assert runner.invoke(app, ["schema", "--of", "catalogue"]).exit_code == 3
    assert runner.invoke(app, ["schema", "--markdown"]).stdout.startswith("# The job file")
