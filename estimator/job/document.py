"""A TOML file as read: text, data, the line of each key, and the text with other values in it."""

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, TypeVar

import tomlkit
from pydantic import BaseModel, ValidationError

from estimator.core.errors import InputError, Problem, Severity
from estimator.intake.files import read_text
from estimator.intake.structured import KeyPath, dotted, parse_toml, unfit
from estimator.job.lines import key_lines, line_of
from estimator.job.refusals import problems_of

M = TypeVar("M", bound=BaseModel)


@dataclass(frozen=True, slots=True)
class Document:
    """A TOML file as read.

    Attributes:
        file: its name as given by the user.
        data: what it holds, as `tomllib` gives it.
        lines: the line of every key path.
    """

    file: str
    data: dict[str, Any]
    lines: Mapping[KeyPath, int]

    def problem(self, path: KeyPath, what: str, fix: str, severity: Severity = "error") -> Problem:
        """Return a Problem that names this file, the key path and its line."""
        line = line_of(self.lines, path)
        return Problem(dotted(path), what, fix, file=self.file, line=line, severity=severity)


def parse_document(text: str, file: str) -> Document:
    """Return the document that a TOML text is.

    Raises:
        InputError: it is not TOML, too deep, or holds characters that cannot be seen.
    """
    document = Document(file, parse_toml(text, file), key_lines(text))
    if found := unfit(document.data):
        raise InputError([document.problem(*refusal) for refusal in found])
    return document


def read_document(path: Path, file: str | None = None) -> Document:
    """Return the TOML file at `path`.

    Args:
        path: where it is.
        file: its name in messages; left out, `path`.

    Raises:
        InputError: it cannot be read, or is not TOML.
    """
    name = file or str(path)
    return parse_document(read_text(path, name), name)


def validated(model: type[M], document: Document) -> M:
    """Return the document's data as a `model`.

    Raises:
        InputError: every key that is missing, unknown or wrong, each with its line.
    """
    try:
        return model.model_validate(document.data)
    except ValidationError as error:
        found = problems_of(model, document.data, error)
        raise InputError(sorted({document.problem(*p) for p in found}, key=_order)) from None


def _order(problem: Problem) -> tuple[int, str, str]:
    return problem.line, problem.where, problem.what


def with_header(text: str, changes: Mapping[str, object]) -> str:
    """Return the text of a job file with keys of ``[job]`` changed or added.

    Args:
        text: a job file that was read without problems.
        changes: texts and dates by key.
    """
    document = tomlkit.parse(text)
    document["job"].update(changes)
    return tomlkit.dumps(document)


Place = Callable[[Iterable[Problem]], tuple[Problem, ...]]
_STEP = re.compile(r"([A-Za-z0-9_-]+)|\[(\d{1,6})\]")
_PATH = re.compile(r"(?:[A-Za-z0-9_-]+(?:\[\d{1,6}\])*)(?:\.[A-Za-z0-9_-]+(?:\[\d{1,6}\])*)*")


def key_path(where: str) -> KeyPath:
    """Return the key path that ``wall[1].opening[0].width`` writes; empty where it writes none."""
    if not _PATH.fullmatch(where):
        return ()
    return tuple(int(n) if n else word for word, n in _STEP.findall(where))


def _named(data: object, path: KeyPath = ()) -> Iterator[tuple[str, KeyPath]]:
    """Yield every table that has a name, and every make-up, with its path."""
    if isinstance(data, list):
        for n, entry in enumerate(data):
            yield from _named(entry, (*path, n))
    elif isinstance(data, dict):
        if isinstance(data.get("name"), str) and path[:1] != ("option",):
            yield data["name"], path
        for key, value in data.items():
            yield from _named(value, (*path, key))


def _products(data: Mapping[str, Any]) -> Iterator[tuple[str, KeyPath]]:
    """Yield every product that a make-up names."""
    make_ups = data.get("make-up")
    for name, make_up in make_ups.items() if isinstance(make_ups, dict) else ():
        for key, value in make_up.items() if isinstance(make_up, dict) else ():
            if isinstance(value, str):
                yield value, ("make-up", name, key)


def _things(data: Mapping[str, Any]) -> dict[str, KeyPath]:
    """Return the path of each thing that is built first, then of what the room has, then of products."""
    built = {key: value for key, value in data.items() if key != "room"}
    found: dict[str, KeyPath] = {}
    for name, path in [*_named(built), *_named(data.get("room"), ("room",)), *_products(data)]:
        found.setdefault(name, path)
    return found


def _path_of(where: str, things: Mapping[str, KeyPath], document: Document) -> KeyPath:
    if where in things:
        return things[where]
    path = key_path(where)
    if path and path[:1] in document.lines:
        return path
    return things.get(re.sub(r"\d+$", "", where), ())


def located(problems: Iterable[Problem], document: Document) -> tuple[Problem, ...]:
    """Return problems with the job file's name and the line they are about.

    Args:
        problems: of any stage; those that name a file already, or nothing of this one, are left alone.
        document: the job file as read.
    """
    things = _things(document.data)
    found = []
    for problem in problems:
        path = () if problem.file else _path_of(problem.where, things, document)
        line = line_of(document.lines, path)
        found.append(replace(problem, file=document.file, line=line) if path else problem)
    return tuple(found)


@contextmanager
def at_lines(path: Path) -> Iterator[Place]:
    """Give a function that puts file and line to problems; a refusal inside the block gets them too.

    Args:
        path: the job file, which has been read before.

    Yields:
        The function.

    Raises:
        InputError: the block's own refusal, its problems with file and line.
    """

    def place(problems: Iterable[Problem]) -> tuple[Problem, ...]:
        return located(problems, document)

    document = read_document(path)
    try:
        yield place
    except InputError as error:
        raise InputError(place(error.problems)) from None
