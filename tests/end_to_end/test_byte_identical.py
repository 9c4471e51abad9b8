"""Two runs of the program on the same job write the same bytes, in processes that order sets differently."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

EXAMPLES = Path(__file__).parents[2] / "examples"
PROGRAM = "from estimator.cli.app import main; main()"


def written(name: str, seed: str, out: Path) -> dict[str, bytes]:
    """Return every file that `battenbook estimate` writes, by name, in a process of its own."""
    command = [sys.executable, "-c", PROGRAM, "estimate", str(EXAMPLES / name / "job.toml"), "--no-pdf"]
    environment = {**os.environ, "PYTHONHASHSEED": seed}
    subprocess.run([*command, "--out", str(out)], env=environment, check=True, capture_output=True)
    return {str(p.relative_to(out)): p.read_bytes() for p in sorted(out.rglob("*")) if p.is_file()}


@pytest.mark.parametrize("name", [pytest.param("chapel_annex", marks=pytest.mark.slow), "voice_booth"])
def test_two_processes_write_the_same_files(name: str, tmp_path: Path) -> None:
    one, two = (written(name, seed, tmp_path / seed) for seed in ("1", "4711"))
    assert any(file.endswith(".xlsx") for file in one)
    assert list(one) == list(two)
    assert [file for file in one if one[file] != two[file]] == []
