"""Reading the catalogue a job names, and a job together with it: all problems of all files in one run."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TypeVar

from estimator.catalogue.agreement import catalogue_disagreements, product_disagreements
from estimator.catalogue.labour import load_labour
from estimator.catalogue.practice import read_practice
from estimator.catalogue.price_list import read_price_list
from estimator.catalogue.records import Catalogue, Item, Practice
from estimator.catalogue.references import references
from estimator.catalogue.shelf import DATA, on_shelf
from estimator.catalogue.terms import Terms
from estimator.core.errors import InputError, Problem, refuse_all
from estimator.job.description import Header, Job
from estimator.job.document import Document, nearest, read_document, sentences, validated
from estimator.job.load import read_job

__all__ = ["AS_WRITTEN", "DATA", "PRICES", "Instead", "load", "load_catalogue", "read_terms", "shelf_of",
           "shipped", "shipped_practice", "sources", "terms_under"]  # fmt: skip
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


def shipped(folder: str, shelf: Path = DATA) -> tuple[str, ...]:
    """Return the names of the shipped 'practice' or 'terms' files, those on a shelf among them."""
    return tuple(sorted({path.stem for on in (DATA, shelf) for path in (on / folder).glob("*.toml")}))


def _is_path(name: str) -> bool:
    return "/" in name or "\\" in name or name.endswith((".toml", ".csv"))


def _place(name: str, known: dict[str, Path], base: Path) -> tuple[Path, str]:
    """Return where a shipped name or a path points, and the file's name in messages.

    Raises:
        ValueError: no shipped file of that name, or no file at that path.
    """
    if name in known:
        return known[name], known[name].name
    if not _is_path(name):
        raise ValueError(f"there is nothing shipped by the name {name!r}; {nearest(name, known)}")
    path = base / name.replace("\\", "/")
    if not path.is_file():
        raise ValueError(f"there is no file {name!r}; the path is from the job file's folder")
    return path, name


class _ListReader:
    """Reads files one after the other and keeps every problem."""

    def __init__(self, base: Path, document: Document | None, shelf: Path = DATA) -> None:
        self.base = base
        self.document = document
        self.shelf = shelf
        self.problems: list[Problem] = []

    def read(self, key: str, name: str, known: dict[str, Path], reader: Callable[[Path, str], T]) -> T | None:
        try:
            return reader(*_place(name, known, self.base))
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
        practice, problems = read_practice(read_document(path, file), base)
        refuse_all(problems)
        return practice


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
    under = _terms_under(document, path, shelf)
    if under is None:
        return validated(Terms, document)
    shop = read_document(*under)
    if "over" in shop.data:
        what = f"{under[1]} is laid over other terms itself"
        raise InputError([document.problem(("over",), what, "Name the shop's own terms.")])
    validated(Terms, shop)
    return validated(Terms, replace(document, data={**shop.data, **document.data}))


def terms_under(path: Path, shelf: Path = DATA) -> Path | None:
    """Return the file of the shop's terms that a client's terms file is laid over, None for none.

    Raises:
        InputError: there is no such file.
    """
    under = _terms_under(read_document(path), path, shelf)
    return under and under[0]


def _terms_under(document: Document, path: Path, shelf: Path) -> tuple[Path, str] | None:
    name = document.data.get("over")
    if not isinstance(name, str):
        return None
    known = _known("terms", shelf)
    if name not in known and name != Path(name).name:
        what = f"{name!r} is not beside this file"
        raise InputError([document.problem(("over",), what, "Put the shop's terms into the same folder.")])
    try:
        return _place(name, known, path.resolve().parent)
    except ValueError as error:
        raise InputError([document.problem(("over",), *sentences(error))]) from None


def _known(folder: str, shelf: Path = DATA) -> dict[str, Path]:
    return {name: on_shelf(f"{folder}/{name}.toml", shelf) for name in shipped(folder, shelf)}


def _read_all(header: Header, reader: _ListReader) -> Catalogue | None:
    """Return what could be read, shipped files in the place of the unreadable; None without prices."""
    prices = {name: DATA / file for name, file in PRICES.items()}
    labours = {"default": DATA / "labour.toml"}
    items = reader.read("prices", header.prices, prices, reader.prices)
    practice = reader.read("practice", header.practice, _known("practice"), reader.practice)
    terms = reader.read("terms", header.terms, _known("terms"), reader.terms)
    labour = reader.read("labour", header.labour, labours, load_labour)
    if items is None:
        return None
    practice, terms = practice or shipped_practice(), terms or read_terms(_known("terms")["default"])
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
    known = {
        "prices": {name: DATA / file for name, file in PRICES.items()},
        "practice": _known("practice"),
        "terms": _known("terms"),
        "labour": {"default": DATA / "labour.toml"},
    }
    return {key: _place(getattr(header, key), names, base)[0] for key, names in known.items()}


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
