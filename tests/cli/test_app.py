"""The command as a process: what it does when nobody reads on."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

JOB = Path(__file__).parents[2] / "examples" / "one_panel" / "job.toml"
COMMAND = (sys.executable, "-c", "from estimator.cli.app import main; main()")


@pytest.mark.skipif(os.name == "nt", reason="pipes break otherwise there")
@pytest.mark.parametrize(
    "words", [("schema",), ("--help",), ("explain", str(JOB), "list"), ("check", str(JOB))]
)
def test_a_reader_who_leaves_ends_it_without_a_word_as_the_system_does(words: tuple[str, ...]) -> None:
    """Shells show 141, 128 + 13, of a program ended by SIGPIPE (POSIX: signal 13 on every usual system)."""
    reading, writing = os.pipe()
    os.close(reading)
    done = subprocess.run([*COMMAND, *words], stdout=writing, stderr=subprocess.PIPE, text=True, check=False)
    os.close(writing)
    assert done.returncode == 141
    said = [line for line in done.stderr.splitlines() if not line.startswith(("warning: ", "caution: "))]
    assert said == []
