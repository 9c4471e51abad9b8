"""A TOML file as read: its text, its data, and where each key stands; hostile input becomes a Problem."""

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from estimator.core.errors import InputError, Problem, Severity
from estimator.job.lines import KeyPath, key_lines, line_of
from estimator.job.refusals import problems_of, shown

LARGEST_BYTES = 1_000_000
M = TypeVar("M", bound=BaseModel)
_PLAIN = re.compile(r"[\w -]{1,60}\Z")
_AT_LINE = re.compile(r" \(at line (\d+), column (\d+)\)$")


def dotted(path: KeyPath) -> str:
    """Return a key path as it is printed: ``wall[1].opening[0].width``."""
    plain = (part if isinstance(part, int) or _PLAIN.match(part) else shown(part) for part in path)
    text = "".join(f"[{part}]" if isinstance(part, int) else f".{part}" for part in plain)
    return text.lstrip(".") or "file"


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


def _refuse(file: str, what: str, fix: str, line: int = 0) -> InputError:
    return InputError([Problem("file", what, fix, file=file, line=line)])


def _bytes(path: Path, file: str) -> bytes:
    if path.is_dir():
        raise _refuse(file, "this is a folder, not a file", "Name the file inside it.")
    if not path.is_file():
        raise _refuse(file, "there is no such file", "Check the path.")
    try:
        with path.open("rb") as stream:
            raw = stream.read(LARGEST_BYTES + 1)
    except OSError as error:
        what = f"the file cannot be read: {error.strerror}"
        raise _refuse(file, what, "Check the path and its rights.") from None
    if len(raw) > LARGEST_BYTES:
        raise _refuse(file, "the file is over 1 MB", "Such a file is some pages of text.")
    return raw


def read_text(path: Path, file: str) -> str:
    """Return the text of a UTF-8 file of at most 1 MB.

    Raises:
        InputError: it is missing, a folder, unreadable, too large, or not UTF-8.
    """
    raw = _bytes(path, file)
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        what = f"byte {raw[error.start]:#04x} is not UTF-8 text"
        raise _refuse(file, what, "Save the file as UTF-8.", line) from None


def _parse(text: str, file: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise _refuse(file, "the values are nested too deeply", "Write fewer brackets.") from None
    except ValueError as error:
        message = str(error)
        found = _AT_LINE.search(message)
        line = int(found.group(1)) if found else text.count("\n") + 1
        column = f" at column {found.group(2)}" if found else ""
        what = _AT_LINE.sub("", message).replace(" (at end of document)", " at the end of the file")
        what = what[:1].lower() + what[1:200]
        quote = "Is a quotation mark missing? " if "'\\n'" in what else ""
        what = f"this is not TOML: {what}{column}"
        raise _refuse(file, what, f"{quote}The form: https://toml.io/en/v1.0.0.", line) from None


def parse_document(text: str, file: str) -> Document:
    """Return the document that a TOML text is.

    Raises:
        InputError: it is not TOML.
    """
    return Document(file, _parse(text, file), key_lines(text))


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
