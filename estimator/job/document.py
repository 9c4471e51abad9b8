"""A TOML file as read: text, data, the line of each key; and what is wrong with it, in plain words."""

import difflib
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, TypeVar

import tomlkit
from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from estimator.core.characters import escaped
from estimator.core.errors import InputError, Problem, Severity
from estimator.intake.files import read_text
from estimator.intake.structured import KeyPath, Refusal, dotted, parse_toml, unfit
from estimator.job.lines import key_lines, line_of

Schema = dict[str, Any]

_NAMES = {str: "text", bool: "true or false", int: "a whole number", float: "a number", list: "an array",
          dict: "a table"}  # fmt: skip
_TYPES = {
    "string_type": "text in quotes", "int_type": "a whole number", "float_type": "a number",
    "bool_type": "true or false", "date_type": "a date without quotes, such as 2026-03-02",
    "tuple_type": "an array [ … ]", "model_type": "a table", "mapping_type": "a table",
    "dict_type": "a table", "model_attributes_type": "a table",
}  # fmt: skip
_PATTERNS = {
    "name": "Write letters, digits, spaces, points, hyphens, underscores; at most 32.",
    "key": "Write small letters, digits, points, hyphens, underscores; at most 48.",
    "job number": "Write letters, digits, points, hyphens, underscores; at most 40.",
    "ISO 4217 currency code": "Write three capitals, such as CAD, USD, EUR or GBP.",
}


def shown(value: object) -> str:
    """Return a value as it may stand in a message: at most 60 characters, on one line."""
    return escaped(repr(value) if isinstance(value, str) else str(value), 60)


def finished(sentence: str) -> str:
    """Return a sentence with its capital and its stop."""
    stop = "" if sentence[-1:] in ".?!" else "."
    return f"{sentence[:1].upper()}{sentence[1:]}{stop}"


def sentences(error: object) -> tuple[str, str]:
    """Return what is wrong and what would be right, of a reader's own message ``what; fix``."""
    what, _, fix = str(error).partition("; ")
    return what, finished(fix)


def nearest(word: object, known: Iterable[str]) -> str:
    """Return a sentence that names what was probably meant, or all that is known there."""
    names = list(known)
    close = difflib.get_close_matches(str(word), names, n=1)
    if close:
        return f"Did you mean {close[0]!r}?"
    return f"Known here: {escaped(', '.join(map(repr, names)))}." if names else "None is listed."


def _path(data: object, loc: tuple[str | int, ...], *, missing: bool) -> KeyPath:
    """Return `loc` without the parts that pydantic adds for unions and keys of tables."""
    path: list[str | int] = []
    cursor: Any = data
    for n, part in enumerate(loc):
        inside = (isinstance(cursor, dict) and part in cursor) or (
            isinstance(cursor, list) and isinstance(part, int) and part < len(cursor)
        )
        if inside:
            path.append(part)
            cursor = cursor[part]
        elif missing and n == len(loc) - 1:
            path.append(part)
    return tuple(path)


def _resolve(schema: Schema, root: Schema) -> list[Schema]:
    """Return the schemas a value may follow, references and alternatives opened."""
    if "$ref" in schema:
        return _resolve(root["$defs"][schema["$ref"].rsplit("/", 1)[1]], root)
    branches = schema.get("anyOf") or schema.get("oneOf")
    return [s for b in branches for s in _resolve(b, root)] if branches else [schema]


def _step(schema: Schema, part: str | int) -> Schema | None:
    if isinstance(part, int):
        prefix = schema.get("prefixItems", [])
        return dict(prefix[part]) if part < len(prefix) else schema.get("items")
    found = schema.get("properties", {}).get(part)
    if found is not None:
        return dict(found)
    others = [schema.get("additionalProperties"), *schema.get("patternProperties", {}).values()]
    return next((dict(other) for other in others if isinstance(other, dict)), None)


def schemas_at(root: Schema, path: KeyPath) -> list[Schema]:
    """Return the JSON Schemas that the value at `path` may follow; empty where the path is unknown."""
    here = _resolve(root, root)
    for part in path:
        steps = [found for schema in here if (found := _step(schema, part)) is not None]
        here = [s for step in steps for s in _resolve(step, root)]
    return here


def _example(schemas: list[Schema]) -> str:
    for schema in schemas:
        if schema.get("examples"):
            return f'"{schema["examples"][0]}"'
        if schema.get("enum"):
            return f'"{schema["enum"][0]}"'
        if "const" in schema:
            return str(schema["const"])
        plain = {"string": '"…"', "integer": "1", "number": "1.0", "object": "{ … }", "array": "[ … ]"}
        if schema.get("type") in plain:
            return "2026-03-02" if schema.get("format") == "date" else plain[schema["type"]]
    return "…"


def _properties(schemas: list[Schema]) -> list[str]:
    return [name for schema in schemas for name in schema.get("properties", {})]


def _missing(root: Schema, path: KeyPath) -> tuple[str, str]:
    schemas = schemas_at(root, path)
    if any(s.get("type") == "object" for s in schemas):
        return "this table is missing", f"Add [{'.'.join(map(str, path))}]."
    return "this key is missing", f"Add {path[-1]} = {_example(schemas)}."


def _pattern(root: Schema, path: KeyPath, value: object) -> tuple[str, str]:
    titles = [str(s["title"]) for s in schemas_at(root, path) if "title" in s]
    title = next((t for t in titles if t in _PATTERNS), "name")
    article = "an" if title[0] in "AEIOU" else "a"
    return f"{shown(value)} is not {article} {title}", _PATTERNS[title]


def _sentence(detail: ErrorDetails) -> tuple[str, str]:
    """Return what and fix of a reader's own message: ``what; fix``."""
    what, fix = sentences(detail.get("ctx", {}).get("error", detail["msg"]))
    return what, fix or "Correct it."


def _limit(detail: ErrorDetails) -> tuple[str, str] | None:
    limits = detail.get("ctx", {})
    words = {
        "greater_than": "more than {gt}", "greater_than_equal": "{ge} or more", "less_than": "less than {lt}",
        "less_than_equal": "{le} or less", "too_short": "{min_length} or more entries",
        "too_long": "{max_length} entries or fewer", "string_too_short": "text that is not empty",
        "string_too_long": "{max_length} characters or fewer", "finite_number": "a finite number",
    }  # fmt: skip
    if detail["type"] not in words:
        return None
    wanted = words[detail["type"]].format(**limits)
    value = detail["input"]
    if isinstance(value, str):
        wanted = wanted.replace("1 or more entries", "some text").replace(
            "entries or fewer", "characters or fewer"
        )
    size = f"{len(value)} entries are" if isinstance(value, list | dict) else f"{shown(value)} is"
    return f"{size} out of range", f"Write {wanted}."


def _words(root: Schema, path: KeyPath, detail: ErrorDetails) -> tuple[str, str]:
    kind, value = detail["type"], detail["input"]
    if kind == "missing":
        return _missing(root, path)
    if kind == "extra_forbidden":
        return "there is no such key here", nearest(path[-1], _properties(schemas_at(root, path[:-1])))
    if kind == "literal_error":
        known = [
            str(e) for s in schemas_at(root, path) for e in s.get("enum", [s.get("const", "")]) if e != ""
        ]
        return f"{shown(value)} is not one of the words known here", nearest(value, known)
    if kind == "string_pattern_mismatch":
        return _pattern(root, path, value)
    if kind in _TYPES:
        return f"{shown(value)} is {_NAMES.get(type(value), 'of another kind')}", f"Write {_TYPES[kind]}."
    return _limit(detail) or _sentence(detail)


def _counted_without_the_wrong_ones(detail: ErrorDetails) -> bool:
    """Return whether an array is called too short only because its wrong entries were left out."""
    if detail["type"] != "too_short" or not isinstance(detail["input"], list | dict):
        return False
    return len(detail["input"]) >= int(detail["ctx"]["min_length"])


def problems_of(model: type[BaseModel], data: object, error: ValidationError) -> list[Refusal]:
    """Return every refusal of a validation: key path, what is wrong, what would be right."""
    root = model.model_json_schema()
    found: list[Refusal] = []
    for detail in error.errors(include_url=False):
        if _counted_without_the_wrong_ones(detail):
            continue
        path = _path(data, detail["loc"], missing=detail["type"] == "missing")
        found.append((path, *_words(root, path, detail)))
    return found


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
