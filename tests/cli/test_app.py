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


def shell(line: str, folder: Path) -> tuple[int, str]:
    """Return the exit code of a line for the shell, and what was said on standard error."""
    done = subprocess.run(
        ["sh", "-c", line, "sh", *COMMAND], cwd=folder, capture_output=True, text=True, check=False
    )
    said = [line for line in done.stderr.splitlines() if not line.startswith(("warning: ", "caution: "))]
    return done.returncode, "\n".join(said)


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no device that is always full")
@pytest.mark.parametrize("words", ["--help", "schema", f"check {JOB}", f"check {JOB} --json"])
@pytest.mark.parametrize(("to", "why"), [(">/dev/full", "No space left on device"), (">&-", "is closed")])
def test_an_answer_that_cannot_be_printed_is_said_in_one_line(
    words: str, to: str, why: str, tmp_path: Path
) -> None:
    said = f"error: standard output: {why}; the result is not printed."
    assert shell(f'"$@" {words} {to}', tmp_path) == (4, said)
    assert shell(f'"$@" {words} {to} 2>&-', tmp_path) == (4, "")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no device that is always full")
@pytest.mark.parametrize("closed", ["2>&-", "2>/dev/full"])
@pytest.mark.parametrize(
    ("words", "code"),
    [
        ("--help", 0),
        ("no-such-verb", 2),
        ("estimate --no-such", 2),
        ("check no-such-file", 3),
        ("check no-such-file --json", 3),
        (f"check {JOB}", 0),
        (f"schema --out {JOB}", 4),
        ("archive list --archive no-such-folder", 5),
    ],
)
def test_nobody_listening_changes_no_exit_code(words: str, code: int, closed: str, tmp_path: Path) -> None:
    assert shell(f'"$@" {words} {closed}', tmp_path)[0] == code


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no device that is always full")
def test_what_is_written_before_stands_and_is_named(tmp_path: Path) -> None:
    code, said = shell('"$@" schema --out it.json >/dev/full', tmp_path)
    assert code == 4
    assert said.endswith("the result is not printed. Written and standing: it.json.")
    assert (tmp_path / "it.json").read_text().endswith("}\n")


def test_a_closed_stream_lends_its_number_to_no_file(tmp_path: Path) -> None:
    assert shell('"$@" schema --out it.json <&- >&- 2>&-', tmp_path)[0] == 4
    assert (tmp_path / "it.json").read_text().startswith("{")
