"""Reading the catalogue a job names, and a job together with it: all problems of all files in one run."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TypeVar

from estimator.catalogue.agreement import catalogue_disagreements, product_disagreements
from estimator.catalogue.labour import LabourBook, load_labour
from estimator.catalogue.layers import LAYERED, beneath, known, place
from estimator.catalogue.practice import read_practice
from estimator.catalogue.price_list import read_price_list
from estimator.catalogue.records import Catalogue, Item, Practice
from estimator.catalogue.references import references
from estimator.catalogue.shelf import DATA, on_shelf
from estimator.catalogue.terms import Terms
from estimator.core.errors import InputError, Problem, refuse_all
from estimator.job.description import Header, Job
from estimator.job.document import Document, read_document, sentences, validated
from estimator.job.load import read_job

__all__ = ["AS_WRITTEN", "DATA", "PRICES", "Instead", "load", "load_catalogue", "read_terms", "shelf_of",
           "shipped_practice", "sources"]  # fmt: skip
PRICES = {"default": "prices.csv", "metric": "prices-metric.csv"}
OWN_PRACTICE = "practice/default.toml"
T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Instead:
    """What takes the place of what a job file says.

    Attributes:
        header: keys of ``[job]`` that hold something else: another price list, other terms, another date.
        shelf: where the tables are that every estimate reads.
    """

    header: Mapping[str, object] = field(default_factory=dict)
    shelf: Path = DATA


AS_WRITTEN = Instead()


class _ListReader:
    """Reads files one after the other and keeps every problem."""

    def __init__(self, base: Path, document: Document | None, shelf: Path = DATA) -> None:
        self.base = base
        self.document = document
        self.shelf = shelf
        self.problems: list[Problem] = []

    def read(self, key: str, name: str, known: dict[str, Path], reader: Callable[[Path, str], T]) -> T | None:
        try:
            return reader(*place(name, known, self.base))
        except InputError as error:
            self.problems += error.problems
        except ValueError as error:
            own = Problem(f"job.{key}", *sentences(error))
            if self.document:
                own = self.document.problem(("job", key), *sentences(error))
            self.problems.append(own)
        return None

    def use_tables_of(self, header: Header) -> None:
        """Read from the job's own folder of tables, where it names one."""
        shelf = shelf_of(header, self.base)
        if shelf.is_dir():
            self.shelf = shelf
        elif self.document:
            what, fix = f"there is no folder {header.tables!r}", "The path is from the job file's folder."
            self.problems.append(self.document.problem(("job", "tables"), what, fix))

    def terms(self, path: Path, file: str) -> Terms:
        return read_terms(path, file, self.shelf)

    def prices(self, path: Path, file: str) -> tuple[Item, ...]:
        return read_price_list(path, file, references(self.shelf).lumber)

    def practice(self, path: Path, file: str) -> Practice:
        base = shipped_practice(self.shelf)
        if path == DATA / OWN_PRACTICE and self.shelf == DATA:
            return base
        document = read_document(path, file)
        shop = beneath(document, path, "practice", self.shelf)
        if shop is not None:
            base, problems = read_practice(shop, base)
            refuse_all(problems)
        practice, problems = read_practice(document, base)
        refuse_all(problems)
        return practice

    def labour(self, path: Path, file: str) -> LabourBook:
        return load_labour(path, file, self.shelf)


def shipped_practice(shelf: Path = DATA) -> Practice:
    """Return the shop practice on a shelf, over which every other is laid; without one, the shipped one."""
    practice, problems = read_practice(read_document(on_shelf(OWN_PRACTICE, shelf), "default.toml"))
    refuse_all(problems)
    return practice


def read_terms(path: Path, file: str | None = None, shelf: Path = DATA) -> Terms:
    """Return the terms in a file, laid over the shop's terms, or shipped ones, where it names such.

    Raises:
        InputError: everything wrong in it, or in the shop's, each with its line.
    """
    document = read_document(path, file)
    shop = beneath(document, path, "terms", shelf)
    if shop is None:
        return validated(Terms, document)
    validated(Terms, shop)
    return validated(Terms, replace(document, data={**shop.data, **document.data}))


def _read_all(header: Header, reader: _ListReader) -> Catalogue | None:
    """Return what could be read, shipped files in the place of the unreadable; None without prices."""
    prices = {name: DATA / file for name, file in PRICES.items()}
    items = reader.read("prices", header.prices, prices, reader.prices)
    practice = reader.read("practice", header.practice, known("practice"), reader.practice)
    terms = reader.read("terms", header.terms, known("terms"), reader.terms)
    labour = reader.read("labour", header.labour, known("labour"), reader.labour)
    if items is None:
        return None
    practice, terms = practice or shipped_practice(), terms or read_terms(known("terms")["default"])
    return Catalogue.of(
        items, practice, terms, labour or load_labour(), header.prices, references(reader.shelf)
    )


def load_catalogue(job: Job, base: Path) -> Catalogue:
    """Return the catalogue that a job names.

    Args:
        job: the job.
        base: the folder of the job file, from which its paths count.

    Raises:
        InputError: everything wrong in the price list, the practice, the terms and the labour rates.
    """
    reader = _ListReader(base, None)
    catalogue = _read_all(job.header, reader)
    if catalogue is None or reader.problems:
        raise InputError(reader.problems)
    return catalogue


def sources(header: Header, base: Path) -> dict[str, Path]:
    """Return the files that a job's catalogue is read from, by 'prices', 'practice', 'terms', 'labour'.

    Raises:
        ValueError: a name is not known, or there is no such file.
    """
    files = {"prices": {name: DATA / file for name, file in PRICES.items()}}
    files |= {kind: known(kind) for kind in LAYERED}
    return {key: place(getattr(header, key), names, base)[0] for key, names in files.items()}


def shelf_of(header: Header, base: Path) -> Path:
    """Return the folder of the tables that every estimate reads: the job's own, or the shipped one."""
    return DATA if header.tables is None else base / header.tables.replace("\\", "/")


def load(
    path: Path, file: str | None = None, instead: Instead = AS_WRITTEN
) -> tuple[Job, Catalogue, tuple[Problem, ...]]:
    """Return the job in a file, the catalogue it names, and the warnings.

    Args:
        path: the job file.
        file: its name in messages; left out, `path`.
        instead: what takes the place of what the file says. Paths count from the job file's folder: the
            real one, where the job file is a link.

    Raises:
        InputError: every error of the job file, price list, practice, terms and labour rates, and
            between them; the job file's first, by line.
    """
    document = read_document(path, file)
    job, found = read_job(document)
    job = job.model_copy(update={"header": job.header.model_copy(update=dict(instead.header))})
    reader = _ListReader(path.resolve().parent, document, instead.shelf)
    if instead.shelf == DATA:
        reader.use_tables_of(job.header)
    catalogue = _read_all(job.header, reader)
    problems = [*found, *reader.problems]
    if catalogue is not None:
        agree = product_disagreements if reader.problems else catalogue_disagreements
        problems += agree(job, catalogue, document)
    problems.sort(key=lambda p: (p.file != document.file, p.file, p.line))
    if catalogue is None or any(problem.severity == "error" for problem in problems):
        raise InputError(problems)
    return job, catalogue, tuple(problems)
