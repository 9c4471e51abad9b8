"""Help answers within one and a half times what importing its parser takes, whatever the machine."""

import sys

from tests.benchmarks.processes import PROGRAM, best_s


def test_help_answers_at_once() -> None:
    floor = best_s(sys.executable, "-c", "import typer", runs=7)
    assert best_s(*PROGRAM, "--help", runs=7) <= 1.5 * floor
