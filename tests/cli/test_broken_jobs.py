"""Each broken example names everything wrong with it in one run, in the words that stand beside it."""

import json
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner, Result

from estimator.cli.app import gather

BROKEN = Path(__file__).parents[2] / "examples" / "broken"
NAMES = sorted(path.name for path in BROKEN.iterdir())


def _check(name: str, monkeypatch: pytest.MonkeyPatch, *options: str) -> Result:
    monkeypatch.chdir(BROKEN / name)
    return CliRunner().invoke(gather(), ["check", "job.toml", *options])


def test_there_are_broken_jobs() -> None:
    assert len(NAMES) > 15


@pytest.mark.parametrize("name", NAMES)
def test_a_broken_job_says_what_is_expected(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    before = sorted((BROKEN / name).iterdir())
    result = _check(name, monkeypatch)
    expected = (BROKEN / name / "expected.txt").read_text(encoding="utf-8")
    assert result.stderr == "".join(f"error: {line}\n" for line in expected.splitlines())
    assert (result.exit_code, result.stdout) == (3, "")
    assert sorted((BROKEN / name).iterdir()) == before


@pytest.mark.parametrize("name", NAMES)
def test_every_refusal_names_file_line_what_and_fix(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    problems: list[dict[str, Any]] = json.loads(_check(name, monkeypatch, "--json").stdout)["problems"]
    assert problems
    for problem in problems:
        rows = (BROKEN / name / problem["file"]).read_bytes().splitlines()
        assert 1 <= problem["line"] <= len(rows)
        assert problem["where"]
        assert problem["what"]
        assert problem["fix"].endswith((".", "?"))
