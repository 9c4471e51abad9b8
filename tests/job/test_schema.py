"""The JSON Schema and the reference say what the models say."""

import datetime as dt
import tomllib
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from estimator.job.schema import job_schema, reference

ROOT = Path(__file__).parents[2]
JOBS = sorted((ROOT / "examples").glob("*/job.toml"))
BROKEN_IN_FORM = ["bare_numbers", "misspelt_keys"]


def _as_json(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _as_json(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [_as_json(inner) for inner in value]
    return value.isoformat() if isinstance(value, dt.date) else value


def _errors(path: Path) -> list[str]:
    data = _as_json(tomllib.loads(path.read_text(encoding="utf-8")))
    checker = jsonschema.Draft202012Validator(job_schema())
    return [error.json_path for error in checker.iter_errors(data)]


def test_the_schema_is_one() -> None:
    jsonschema.Draft202012Validator.check_schema(job_schema())


@pytest.mark.parametrize("path", JOBS, ids=lambda path: path.parent.name)
def test_an_editor_finds_no_fault_in_the_examples(path: Path) -> None:
    assert _errors(path) == []


@pytest.mark.parametrize("name", BROKEN_IN_FORM)
def test_an_editor_finds_the_faults_of_form(name: str) -> None:
    assert _errors(ROOT / "examples" / "broken" / name / "job.toml")


def test_every_key_is_described() -> None:
    schema = job_schema()
    tables = {**schema["$defs"], "Job": schema}
    silent = [
        (name, key)
        for name, table in tables.items()
        for key, form in table.get("properties", {}).items()
        if not form.get("description") and key not in {"name", "width", "length", "height"}
    ]
    assert silent == []


def test_the_reference_in_the_manual_is_the_one_made_from_the_models() -> None:
    stored = (ROOT / "docs" / "job-file.md").read_text(encoding="utf-8")
    assert stored == reference(), "run: battenbook schema --markdown --force --out docs/job-file.md"


def test_the_reference_names_every_key() -> None:
    schema = job_schema()
    keys = {key for table in [*schema["$defs"].values(), schema] for key in table.get("properties", {})}
    text = reference()
    assert [key for key in sorted(keys) if f"| `{key}` |" not in text] == []
