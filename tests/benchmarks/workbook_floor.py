"""How far the writer is from the floor: openpyxl writing the same cells bare, without looks or checks.

Run ``python tests/benchmarks/workbook_floor.py`` to print, for the typical example: process time from job
file to workbook (the first run, imports and all), time of the writer alone and of bare openpyxl (the best of
several runs), and the ratio of these two. Times are seconds of this process.
"""

import io
import time
from collections.abc import Callable
from pathlib import Path

import openpyxl

from estimator.calc.tables import Book
from estimator.workbook.build import workbook_bytes

ROOM = Path(__file__).parents[2] / "examples" / "rehearsal_room" / "job.toml"
Contents = dict[str, list[tuple[int, int, object]]]


def best_of(work: Callable[[], object], runs: int = 5) -> float:
    """Return the shortest process time of `work`, seconds."""
    times = []
    for _ in range(runs):
        begun = time.process_time()
        work()
        times.append(time.process_time() - begun)
    return min(times)


def contents(raw: bytes) -> Contents:
    """Return every filled cell of a workbook by sheet: row, column, value or formula."""
    book = openpyxl.load_workbook(io.BytesIO(raw))
    return {
        sheet.title: [
            (cell.row, cell.column, cell.value)
            for row in sheet.iter_rows()
            for cell in row
            if cell.value is not None
        ]
        for sheet in book.worksheets
    }


def bare(cells: Contents) -> bytes:
    """Return a workbook of the same cells as openpyxl alone writes it."""
    book = openpyxl.Workbook()
    book.remove(book.worksheets[0])
    for title, filled in cells.items():
        sheet = book.create_sheet(title)
        for row, column, value in filled:
            sheet.cell(row, column, value)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def ratio(book: Book) -> tuple[float, float, int]:
    """Return the writer's time, that of bare openpyxl, and the number of cells."""
    cells = contents(workbook_bytes(book, {}, "a4"))
    ours = best_of(lambda: workbook_bytes(book, {}, "a4"))
    return ours, best_of(lambda: bare(cells)), sum(map(len, cells.values()))


def main() -> None:
    """Print the figures for the typical example."""
    begun = time.process_time()
    from estimator.office.edits import applied  # noqa: PLC0415 - its cost belongs to the time measured
    from estimator.tables.book import book_of  # noqa: PLC0415

    book = book_of(applied(ROOM).estimate)
    workbook_bytes(book, {}, "a4")
    whole = time.process_time() - begun
    ours, floor, count = ratio(book)
    print(f"job file to workbook {whole:.2f} s")  # noqa: T201
    print(f"writer {ours:.3f} s, bare openpyxl {floor:.3f} s, {count:,} cells, ratio {ours / floor:.2f}")  # noqa: T201


if __name__ == "__main__":
    main()
