"""Random jobs, worked out by the engine and by every spreadsheet program on this machine.

Run ``python -m tests.benchmarks.engines_agree --jobs 300`` to print, per program, how many workbooks and
formulas were compared and how many differ, each difference with the job that shows it. Ends with code 1 when
any differs. `--seed` draws other jobs.
"""

import argparse
import sys
import tempfile
from collections.abc import Iterator, Sequence
from pathlib import Path

from hypothesis import HealthCheck, Phase, given, seed, settings

from estimator.calc.tables import Book
from estimator.catalogue.load import load
from estimator.core.errors import InputError, Problem
from estimator.pipeline import estimate
from estimator.tables.book import book_of
from estimator.workbook.build import workbook_bytes
from tests.end_to_end.random_jobs import JobText, jobs
from tests.workbook.recalculate import Engine, compare_with, gnumeric, office, recalculated_all

BATCH = 20
Made = tuple[JobText, Book, Path]


def drawn(count: int, number: int) -> list[JobText]:
    """Return `count` random jobs; the same for the same seed `number`."""
    found: list[JobText] = []

    @seed(number)
    @settings(
        max_examples=count,
        phases=[Phase.generate],
        database=None,
        deadline=None,
        suppress_health_check=list(HealthCheck),
    )
    @given(jobs())
    def draw(job: JobText) -> None:
        found.append(job)

    draw()
    return found[:count]


def written(texts: Sequence[JobText], folder: Path, first: int) -> Iterator[Made]:
    """Yield the workbook of every job that the program takes on, as a book and as a file."""
    for number, text in enumerate(texts, start=first):
        own = folder / f"job-{number}"
        own.mkdir()
        try:
            job, catalogue, _ = load(text.write(own))
            book = book_of(estimate(job, catalogue))
        except InputError:
            continue
        path = own / f"job-{number}.xlsx"
        path.write_bytes(workbook_bytes(book, {"job_id": str(number), "title": "drawn"}, "a4"))
        yield text, book, path


def engines() -> tuple[Engine, ...]:
    """Return the spreadsheet programs of this machine."""
    found: list[Engine] = ["ironcalc"]
    found += ["libreoffice"] if office() else []
    found += ["gnumeric"] if gnumeric() else []
    return tuple(found)


def formulas(book: Book) -> int:
    """Return how many cells of a book are formulas."""
    fields = (f for s in book.sheets for t in s.tables for f in t.fields)
    return sum(len(f.values) for f in fields if f.exprs)


def differences(made: Sequence[Made], engine: Engine) -> list[tuple[JobText, Problem]]:
    """Return every formula that a program works out otherwise, with its job."""
    found = recalculated_all([path for _, _, path in made], engine)
    pairs = zip(made, found, strict=True)
    return [(text, p) for (text, book, _), cells in pairs for p in compare_with(book, cells)]


def main(arguments: Sequence[str] | None = None) -> int:
    """Compare and print; returns 0 when every program agrees on every formula."""
    options = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    options.add_argument("--jobs", type=int, default=300)
    options.add_argument("--seed", type=int, default=1)
    asked = options.parse_args(arguments)
    texts, programs = drawn(asked.jobs, asked.seed), engines()
    books = cells = 0
    wrong: dict[Engine, list[tuple[JobText, Problem]]] = {engine: [] for engine in programs}
    for begin in range(0, len(texts), BATCH):
        with tempfile.TemporaryDirectory() as folder:
            made = list(written(texts[begin : begin + BATCH], Path(folder), begin))
            books, cells = books + len(made), cells + sum(formulas(b) for _, b, _ in made)
            for engine in programs:
                wrong[engine] += differences(made, engine)
        print(f"{books} workbooks, {cells:,} formulas so far", file=sys.stderr)  # noqa: T201
    print(f"{len(texts)} jobs drawn, {books} taken on, {cells:,} formulas")  # noqa: T201
    for engine, found in wrong.items():
        print(f"{engine}: {len(found)} differences")  # noqa: T201
        for text, problem in found[:3]:
            print(f"  {problem.where} {problem.what}\n{text.job}\n{text.terms}")  # noqa: T201
    return 1 if any(wrong.values()) else 0


if __name__ == "__main__":
    sys.exit(main())
