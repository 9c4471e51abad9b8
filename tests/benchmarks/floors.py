"""What must not grow slow, each beside the most it may take; processor time, so that others may work too.

Run ``python -m tests.benchmarks.floors``: it prints a line each, and ends with 1 where one took too long.
``.ci/office`` runs it.
"""

import sys
import tempfile
from collections.abc import Callable
from functools import partial
from pathlib import Path

from estimator.acoustics.absorber import Layer, Makeup, thirds_alpha
from tests.benchmarks.processes import PROGRAM, best_s
from tests.benchmarks.workbook_floor import best_of, ratio
from tests.intake.hostile import HOSTILE
from tests.intake.test_package import measured
from tests.workbook.books import everything

MAKEUPS = [Makeup((Layer(0.01 + i * 1e-4, 5000.0 + 50 * i),), i * 1e-4, i / 10) for i in range(1000)]


def writer() -> tuple[float, float]:
    """Return the time of a book of 500 frames, and four times that of its cells in bare openpyxl, s."""
    ours, floor, _ = ratio(everything(count=500))
    return ours, 4 * floor


def help_text() -> tuple[float, float]:
    """Return the time of ``--help``, and twice that of importing its parser, seconds."""
    floor = best_s(sys.executable, "-c", "import typer", runs=7)
    return best_s(*PROGRAM, "--help", runs=7), 2 * floor


def absorbers(sample: tuple[float, float] | None) -> tuple[float, float]:
    """Return the time of a thousand make-ups at eighteen thirds, and one second."""
    return best_of(lambda: thirds_alpha(MAKEUPS, sample), runs=3), 1.0


def hostile() -> tuple[float, float]:
    """Return the time of the file that takes longest to be read or refused, and two seconds."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "a.xlsx"
        return max(_read_s(path, made()) for made in HOSTILE.values()), 2.0


def _read_s(path: Path, raw: bytes) -> float:
    path.write_bytes(raw)
    return min(measured(path)[2] for _ in range(2))


FLOORS: dict[str, Callable[[], tuple[float, float]]] = {
    "help": help_text,
    "workbook writer": writer,
    "longest of all harmful workbooks": hostile,
    "absorbers, finite sample": partial(absorbers, (3.6, 3.0)),
    "absorbers, infinite sample": partial(absorbers, None),
}


def main() -> int:
    """Print every figure; return 1 where one is over."""
    figures = {what: measure() for what, measure in FLOORS.items()}
    for what, (ours, most) in figures.items():
        sys.stdout.write(f"{what}: {ours:.2f} s of at most {most:.2f} s\n")
    return int(any(ours > most for ours, most in figures.values()))


if __name__ == "__main__":
    sys.exit(main())
