"""The shipped examples, each estimated, laid out on sheets and written once in a test process."""

from functools import cache
from pathlib import Path

from estimator.calc.tables import Book
from estimator.catalogue.load import load
from estimator.catalogue.records import Catalogue
from estimator.job.description import Job
from estimator.pipeline import Estimate, estimate
from estimator.tables.book import book_of
from estimator.workbook.build import workbook_bytes
from estimator.workbook.pages import Paper

FOLDER = Path(__file__).parents[1] / "examples"
NAMES = sorted(path.parent.name for path in FOLDER.glob("*/job.toml"))


@cache
def loaded(name: str) -> tuple[Job, Catalogue]:
    """Return the job of an example and the catalogue it names."""
    job, catalogue, _ = load(FOLDER / name / "job.toml")
    return job, catalogue


@cache
def estimate_of(name: str) -> Estimate:
    """Return the estimate of an example."""
    return estimate(*loaded(name))


@cache
def sheets_of(name: str) -> Book:
    """Return the sheets of an example."""
    return book_of(estimate_of(name))


@cache
def workbook_of(name: str, paper: Paper = "letter") -> bytes:
    """Return the workbook of an example."""
    return workbook_bytes(sheets_of(name), {"job_id": name, "title": name}, paper)
