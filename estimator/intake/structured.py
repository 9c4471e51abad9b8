"""TOML, JSON and CSV from outside: no deeper than is meant, and no hidden characters.

Escapes write what a look at the file's text does not find, so the values are looked through too.
"""

import csv
import io
import json
import re
import tomllib
from collections.abc import Callable, Iterator, Sequence
from typing import Any

from estimator.core.characters import escaped, hidden, named
from estimator.core.errors import InputError, Problem
from estimator.intake.files import refusal

DEEPEST = 20
KeyPath = tuple[str | int, ...]
Refusal = tuple[KeyPath, str, str]
"""Where, what is wrong, and what would be right."""
Number = Callable[[str], Any]
_AT_LINE = re.compile(r" \(at line (\d+), column (\d+)\)$")
_PLAIN = re.compile(r"[\w -]{1,60}\Z")


def dotted(path: KeyPath) -> str:
    """Return a key path as it is printed: ``wall[1].opening[0].width``."""
    plain = (p if isinstance(p, int) or _PLAIN.match(p) else escaped(repr(p), 60) for p in path)
    text = "".join(f"[{part}]" if isinstance(part, int) else f".{part}" for part in plain)
    return escaped(text.lstrip(".")) or "file"


def unfit(data: object) -> list[Refusal]:
    """Return where tables and lists are too deep, or a key or text holds characters that cannot be seen."""
    found: list[Refusal] = []
    waiting: list[tuple[KeyPath, object]] = [((), data)]
    while waiting:
        path, value = waiting.pop()
        if len(path) > DEEPEST:
            return [(path[:3], f"holds values over {DEEPEST} deep", "Write fewer brackets.")]
        texts = value if isinstance(value, dict) else [value]
        if wrong := hidden("".join(t for t in texts if isinstance(t, str)), but="\t\r\n"):
            found.append((path, named(wrong), "Take it out."))
        if isinstance(value, dict):
            waiting += [((*path, key), inner) for key, inner in value.items()]
        elif isinstance(value, list):
            waiting += [((*path, n), inner) for n, inner in enumerate(value)]
    return found


def parse_toml(text: str, file: str, number: Number = float) -> dict[str, Any]:
    """Return what a TOML text holds; the caller looks through it with `unfit`.

    Args:
        text: of the file.
        file: its name in messages.
        number: makes a number of one written with a point.

    Raises:
        InputError: it is no TOML, or nested too deeply.
    """
    try:
        return tomllib.loads(text, parse_float=number)
    except RecursionError:
        raise refusal(file, "the values are nested too deeply", "Write fewer brackets.") from None
    except ValueError as error:
        message = str(error)
        found = _AT_LINE.search(message)
        line = int(found.group(1)) if found else text.count("\n") + 1
        column = f" at column {found.group(2)}" if found else ""
        what = _AT_LINE.sub("", message).replace(" (at end of document)", " at the end of the file")
        what = what[:1].lower() + what[1:120]
        quote = "Is a quotation mark missing? " if "'\\n'" in what else ""
        what = f"this is not TOML: {what}{column}"
        raise refusal(file, what, f"{quote}The form: https://toml.io/en/v1.0.0.", line) from None


def read_toml(text: str, file: str, number: Number = float) -> dict[str, Any]:
    """Return what a TOML text holds, once it is looked through; as `parse_toml`."""
    data = parse_toml(text, file, number)
    _raise_unfit(data, file)
    return data


def read_json(text: str, file: str, number: Number = float) -> Any:  # noqa: ANN401 - whatever was written
    """Return what a JSON text holds, once it is looked through.

    Args:
        text: of the file.
        file: its name in messages.
        number: makes a number of one written with a point or a power of ten.

    Raises:
        InputError: it is no JSON, nested too deeply, or holds characters that cannot be seen.
    """
    try:
        data = json.loads(text, parse_float=number, parse_constant=_no_number)
    except RecursionError:
        raise refusal(file, "the values are nested too deeply", "Write fewer brackets.") from None
    except ValueError as error:
        line = getattr(error, "lineno", 0)
        raise refusal(file, f"this is not JSON: {error}", "The form: https://www.json.org.", line) from None
    _raise_unfit(data, file)
    return data


def _no_number(word: str) -> None:
    raise ValueError(f"{word} is no number")


def _raise_unfit(data: object, file: str) -> None:
    if found := unfit(data):
        raise InputError([Problem(dotted(path), what, fix, file=file) for path, what, fix in found])


DELIMITERS = ",;\t"


def rows(text: str, file: str, delimiter: str = "") -> Iterator[tuple[int, list[str]]]:
    """Yield the rows that hold anything, white space round the cells left out, with the line each ends on.

    Args:
        text: of the file.
        file: its name in messages.
        delimiter: what stands between cells; left out, what the first row that holds anything has most of.

    Raises:
        InputError: a row that cannot be read, such as one with a quotation mark too few.
    """
    first = next((line for line in text.splitlines() if line.strip()), "")
    between = delimiter or max(DELIMITERS, key=first.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=between, strict=True, skipinitialspace=True)
    try:
        for row in reader:
            if any(cell.strip() for cell in row):
                yield reader.line_num, [cell.strip() for cell in row]
    except csv.Error as error:
        what = f"this row cannot be read as CSV: {error}"
        fix = "Save the sheet as CSV, UTF-8."
        raise InputError([Problem("row", what, fix, file=file, line=reader.line_num)]) from None


def records(
    text: str, file: str, columns: Sequence[str], delimiter: str = ""
) -> Iterator[tuple[int, dict[str, str]]]:
    """Yield the rows below the heading by their headings, cells that are missing as ''; as `rows`.

    Raises:
        InputError: the heading lacks one of the `columns`, or as `rows`.
    """
    found = rows(text, file, delimiter)
    line, heading = next(found, (1, []))
    if missing := [c for c in columns if c not in heading]:
        what = f"the heading lacks {', '.join(missing)}"
        known = f"It has {', '.join(map(repr, heading)) or 'none'}; wanted: {', '.join(columns)}."
        raise InputError([Problem("heading", what, known, file=file, line=line)])
    for number, row in found:
        yield number, dict(zip(heading, [*row, *[""] * len(heading)], strict=False))
