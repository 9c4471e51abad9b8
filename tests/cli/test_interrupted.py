"""Ctrl-C at any line: one sentence says what was left, and it is true."""

import json
import shutil
import signal
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from types import FrameType
from typing import Any

import pytest

from estimator.archive.ledger import existing
from estimator.archive.store import events_of, file_quote
from estimator.archive.verify import verify
from estimator.cli.app import _ended
from estimator.core.files import journal
from estimator.documents.render import shipped
from tests.archive.conftest import FILED, QUOTE

HOUSE = str(Path(__file__).parents[2] / "estimator")


class Interruption:
    """Interrupts the program at the nth line it runs in some rooms of the house."""

    def __init__(self, nth: int, *rooms: str) -> None:
        self.left, self.rooms = nth, tuple(f"{HOUSE}/{room}" for room in rooms)

    def __call__(self, frame: FrameType, event: str, _: Any) -> "Interruption | None":
        if not frame.f_code.co_filename.startswith(self.rooms):
            return None
        if event == "line":
            self.left -= 1
            if self.left == 0:
                signal.raise_signal(signal.SIGINT)
        return self


Says = Callable[..., tuple[int, str, str]]


@pytest.fixture
def says(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Says:
    """Return what runs the command, interrupted, and gives its exit code and what it printed and said."""

    def run(interruption: Interruption, *words: str) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["battenbook", *words])
        before = sys.gettrace()
        with journal() as written:
            sys.settrace(interruption)
            try:
                code = _ended(written)
            finally:
                sys.settrace(before)
        out, err = capsys.readouterr()
        assert isinstance(code, int)
        return code, out, err

    return run


def test_a_set_of_files_is_there_or_not_as_was_said(quick_path: Path, says: Says) -> None:
    out, seen = quick_path / "own" / "templates", set()
    names = sorted(p.name for p in shipped().iterdir())
    for nth in range(1, 5000, 2):
        interruption = Interruption(nth, "core/files", "documents/render")
        code, _, said = says(interruption, "templates", "copy", str(out))
        if interruption.left > 0:
            break
        there = out.exists()
        stand = ", ".join(str(out / name) for name in names)
        what = f"what was written stands. It is {stand}." if there else "nothing was written."
        assert code == 130, nth
        assert said == f"error: interrupted: {what}\n", nth
        assert sorted(p.name for p in quick_path.rglob("*") if p.is_file()) == (names if there else []), nth
        assert there or not list(quick_path.iterdir()), nth
        seen.add(there)
        shutil.rmtree(quick_path / "own", ignore_errors=True)
    assert seen == {False, True}


# Between the opening of a file and the `with` that closes it an interruption leaves that to the collector.
@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
def test_an_archive_holds_what_was_said(quick_path: Path, says: Says) -> None:
    seen = set()
    for nth in range(1, 100_000, 23):
        shutil.rmtree(quick_path / "a", ignore_errors=True)
        file_quote(quick_path / "a", QUOTE, {}, FILED)
        interruption = Interruption(nth, "core/files", "archive/")
        code, _, said = says(
            interruption, "archive", "outcome", "2026-014", "won", "--archive", str(quick_path / "a")
        )
        if interruption.left > 0:
            break
        filed = list(events_of(existing(quick_path / "a"), "2026-014"))
        assert code == 130, (nth, said)
        assert len(said.splitlines()) == 1, (nth, said)
        assert ("nothing was written" in said) == (not filed), (nth, said)
        assert ("what was written stands" in said) == bool(filed), (nth, said)
        assert list((quick_path / "a/.battenbook/filing").iterdir()) == [], nth
        assert verify(quick_path / "a").problems == (), nth
        seen.add(bool(filed))
    assert seen == {False, True}


def test_with_json_the_one_object_is_printed(quick_path: Path, says: Says) -> None:
    interruption = Interruption(3, "documents/render")
    code, printed, said = says(interruption, "templates", "copy", str(quick_path / "own"), "--json")
    assert (code, said) == (130, "")
    assert [p["what"] for p in json.loads(printed)["problems"]] == ["nothing was written"]


@pytest.mark.parametrize("door", ["start", "app"])
def test_the_command_itself_ends_with_one_line(door: str) -> None:
    script = f"""
import signal
from estimator.cli import verbs
def interrupted(*_): signal.raise_signal(signal.SIGINT)
verbs.commands_of = interrupted
from estimator.cli.{door} import main
main()
"""
    done = subprocess.run(
        [sys.executable, "-c", script, "schema"], capture_output=True, text=True, check=False
    )
    assert (done.returncode, done.stderr) == (130, "error: interrupted: nothing was written.\n")


@pytest.mark.parametrize("to", ["", " 2>&-"])
def test_before_all_is_loaded_it_is_answered_too(to: str) -> None:
    script = """
import builtins, signal
from estimator.cli.start import main
real = builtins.__import__
def once(name, *more):
    if name == "typer": signal.raise_signal(signal.SIGINT)
    return real(name, *more)
builtins.__import__ = once
main()
"""
    done = subprocess.run(
        ["sh", "-c", f'"$@"{to}', "sh", sys.executable, "-c", script],
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stderr) == (130, "" if to else "error: interrupted: nothing was written.\n")
