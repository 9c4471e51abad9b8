"""The catalogue's reference is the one made from the program, and its schemas fit the shipped files."""

import datetime as dt
import tomllib
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from pydantic import BaseModel

from estimator.catalogue.labour import LabourBook
from estimator.catalogue.load import DATA
from estimator.catalogue.practice import PracticeFile
from estimator.catalogue.reference import catalogue_reference
from estimator.catalogue.terms import Terms
from estimator.job.schema import file_schema

ROOT = Path(__file__).parents[2]
FILES = [
    *((Terms, path) for path in sorted((DATA / "terms").glob("*.toml"))),
    *((PracticeFile, path) for path in sorted((DATA / "practice").glob("*.toml"))),
    (LabourBook, DATA / "labour.toml"),
]


def _as_json(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _as_json(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [_as_json(inner) for inner in value]
    return value.isoformat() if isinstance(value, dt.date) else value


def test_the_reference_in_the_manual_is_the_one_made_from_the_program() -> None:
    stored = (ROOT / "docs" / "catalogue.md").read_text(encoding="utf-8")
    command = "battenbook schema --of catalogue --markdown --force --out docs/catalogue.md"
    assert stored == catalogue_reference(), f"run: {command}"


@pytest.mark.parametrize(("model", "path"), FILES, ids=lambda v: v.stem if isinstance(v, Path) else "")
def test_an_editor_finds_no_fault_in_the_shipped_files(model: type[BaseModel], path: Path) -> None:
    data = _as_json(tomllib.loads(path.read_text(encoding="utf-8")))
    checker = jsonschema.Draft202012Validator(file_schema(model, "form"))
    assert [error.json_path for error in checker.iter_errors(data)] == []
