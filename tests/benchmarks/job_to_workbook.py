"""A typical job to workbook and papers, as a whole process, beside bare openpyxl writing the same cells.

Run ``python -m tests.benchmarks.job_to_workbook`` to see the figures, with ``--write`` to put them into
docs/validation.md. Process time, user and system, the best of several runs each; both are processes of their
own, imports and all.
"""

import json
import sys
import tempfile
from pathlib import Path

from tests.benchmarks.page_part import DOCS, write_part
from tests.benchmarks.processes import PROGRAM, best_s
from tests.benchmarks.workbook_floor import ROOM, contents

PAGE = DOCS / "validation.md"
BARE = """
import json, sys, openpyxl
book = openpyxl.Workbook()
book.remove(book.worksheets[0])
for title, filled in json.load(open(sys.argv[1], encoding="utf-8")).items():
    sheet = book.create_sheet(title)
    for row, column, value in filled:
        sheet.cell(row, column, value)
book.save(sys.argv[2])
"""


def measured(runs: int = 5) -> tuple[float, float, int]:
    """Return the process time of the typical job, that of bare openpyxl, seconds, and the number of cells."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        ours = best_s(*PROGRAM, "estimate", str(ROOM), "--out", name, "--force", runs=runs)
        (workbook,) = folder.glob("*-workbook.xlsx")
        cells = contents(workbook.read_bytes())
        listed = folder / "cells.json"
        listed.write_text(json.dumps(cells, default=str), encoding="utf-8")
        bare = best_s(sys.executable, "-c", BARE, str(listed), str(folder / "bare.xlsx"), runs=runs)
    return ours, bare, sum(map(len, cells.values()))


def table(ours: float, bare: float, cells: int) -> str:
    """Return the figures as Markdown."""
    return (
        "| what | process time |\n| --- | ---: |\n"
        f"| the rehearsal room from job file to a workbook of {cells:,} cells and every paper "
        f"| {ours:.2f} s |\n"
        f"| bare openpyxl, the same cells | {bare:.2f} s |\n| ratio | {ours / bare:.1f} |\n"
    )


def main() -> None:
    """Print the figures, or write them into the page."""
    text = table(*measured())
    if "--write" in sys.argv[1:]:
        write_part(PAGE, "times", text)
    else:
        sys.stdout.write(text)


if __name__ == "__main__":
    main()
