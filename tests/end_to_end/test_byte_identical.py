"""Two runs of the program on the same job write the same bytes, in processes that order sets differently."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from estimator.documents.files import Wishes, contents
from tests.examples import FOLDER, estimate_of

PROGRAM = "from estimator.cli.app import main; main()"


def seed_of_another_order() -> str:
    """Return a seed of hashes other than this process's, which has one of its own or none."""
    return "4711" if os.environ.get("PYTHONHASHSEED") != "4711" else "1"


def written(name: str, out: Path) -> dict[str, bytes]:
    """Return every file that `battenbook estimate` writes, by name, in a process of its own."""
    command = [sys.executable, "-c", PROGRAM, "estimate", str(FOLDER / name / "job.toml"), "--no-pdf"]
    environment = {**os.environ, "PYTHONHASHSEED": seed_of_another_order()}
    subprocess.run([*command, "--out", str(out)], env=environment, check=True, capture_output=True)
    return {str(p.relative_to(out)): p.read_bytes() for p in sorted(out.rglob("*")) if p.is_file()}


@pytest.mark.parametrize("name", [pytest.param("chapel_annex", marks=pytest.mark.slow), "voice_booth"])
def test_two_processes_write_the_same_files(name: str, tmp_path: Path) -> None:
    here, there = contents(estimate_of(name), Wishes()), written(name, tmp_path / "there")
    assert any(file.endswith(".xlsx") for file in there)
    assert sorted(here) == sorted(there)
    assert [file for file in here if here[file] != there[file]] == []
