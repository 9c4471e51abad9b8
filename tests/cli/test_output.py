"""What a verb shows while it works."""

import errno
import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Never

import pytest
import typer

from estimator.cli.output import run
from estimator.core.files import save

pty = pytest.importorskip("pty", reason="this system has no pseudo-terminals")

SCRIPT = """
import time
from estimator.cli import output
output._TICK_S = 0.02
def work():
    {first}
    time.sleep(0.3)
    return (), {{"done": True}}
output.run(work, lambda result: output.say("done"), as_json=False)
"""


def on_a_terminal(first: str, **environment: str) -> tuple[str, str]:
    """Return what goes to stdout, and what a terminal on stderr gets to see."""
    ours, theirs = pty.openpty()
    env = {**os.environ, **environment}
    if not environment:
        env.pop("NO_COLOR", None)
    with subprocess.Popen(
        [sys.executable, "-c", SCRIPT.format(first=first)],
        stdout=subprocess.PIPE, stderr=theirs, env=env, text=True,
    ) as started:  # fmt: skip
        os.close(theirs)
        out, seen = started.stdout.read() if started.stdout else "", b""
        try:
            while part := os.read(ours, 4096):
                seen += part
        except OSError:  # the terminal is gone with the program
            pass
        os.close(ours)
    assert started.returncode == 0
    return out, seen.decode()


def test_a_terminal_sees_that_work_goes_on_and_nothing_of_it_stays() -> None:
    out, seen = on_a_terminal("pass")
    assert out == "done\n"
    assert "\rworking, 0 s" in seen
    assert seen.endswith("\r" + " " * len("working, 0 s") + "\r")


@pytest.mark.parametrize("first", ["output.progress_wanted()"])
def test_a_verb_that_draws_its_own_progress_is_left_alone(first: str) -> None:
    assert "working" not in on_a_terminal(first)[1]


def test_nothing_is_drawn_where_no_terminal_is_or_none_is_wanted() -> None:
    assert on_a_terminal("pass", NO_COLOR="1") == ("done\n", "")
    done = subprocess.run(
        [sys.executable, "-c", SCRIPT.format(first="pass")], capture_output=True, text=True, check=True
    )
    assert (done.stdout, done.stderr) == ("done\n", "")


@pytest.mark.parametrize("as_json", [False, True])
def test_what_stands_after_a_later_failure_is_named(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], *, as_json: bool
) -> None:
    written = tmp_path / "quote.html"

    def work() -> Never:
        save(written, b"whole")
        raise OSError(errno.EIO, "Input/output error", "prices.csv")

    with pytest.raises(typer.Exit) as end:
        run(work, print, as_json=as_json)
    assert end.value.exit_code == 4
    out, err = capsys.readouterr()
    said = [(p["where"], p["what"]) for p in json.loads(out)["problems"]] if as_json else err.splitlines()
    assert said == (
        [("prices.csv", "Input/output error"), (str(written), "is written and stands")]
        if as_json
        else [
            "error: prices.csv: Input/output error. Check the path and its rights.",
            f"error: {written}: is written and stands.",
        ]
    )
