"""A TOML file as read: text, data, where each key stands, and the text with other values in it."""

from collections.abc import Mapping
from dataclasses import dataclass
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
