"""Which line of a TOML text each key stands on; `tomllib` does not say.

Only texts that `tomllib` has already read are scanned, so nothing is checked here twice.
Source: TOML v1.0.0, https://toml.io/en/v1.0.0 (keys, tables, arrays of tables, inline tables).
"""

import contextlib
import re
from bisect import bisect_right
from collections.abc import Mapping

from estimator.intake.structured import KeyPath

_BLANK = re.compile(r"(?:[ \t\r\n]+|#[^\n]*)*")
_KEY = re.compile(r"""[ \t]*([A-Za-z0-9_-]+|"(?:\\.|[^"\\\n])*"|'[^'\n]*')[ \t]*(\.)?""")
_STRING = re.compile(
    r'"""(?:\\.|[^\\])*?"""(?:"{0,2})|' + r"'''.*?'''(?:'{0,2})|" + r'"(?:\\.|[^"\\\n])*"|' + r"'[^'\n]*'",
    re.DOTALL,
)
_SCALAR = re.compile(r"[^,\]}\n#]+")
_ESCAPE = re.compile(r"\\(u[0-9A-Fa-f]{4}|U[0-9A-Fa-f]{8}|.)")
_ESCAPED = {"n": "\n", "t": "\t", "r": "\r", "b": "\b", "f": "\f"}


def _unescape(match: re.Match[str]) -> str:
    code = match.group(1)
    return chr(int(code[1:], 16)) if code[0] in "uU" else _ESCAPED.get(code, code)


def _bare(key: str) -> str:
    if key[0] == "'":
        return key[1:-1]
    return _ESCAPE.sub(_unescape, key[1:-1]) if key[0] == '"' else key


class _Scanner:
    """Walks a TOML text once, noting the line of every key and array element."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.newlines = [m.start() for m in re.finditer("\n", text)]
        self.found: dict[KeyPath, int] = {}
        self.tables: dict[KeyPath, int] = {}

    def note(self, path: KeyPath, at: int) -> None:
        self.found.setdefault(path, bisect_right(self.newlines, at - 1) + 1)

    def blank(self) -> None:
        match = _BLANK.match(self.text, self.at)
        self.at = match.end() if match else self.at

    def take(self, pattern: re.Pattern[str]) -> re.Match[str]:
        match = pattern.match(self.text, self.at)
        if match is None:
            raise ValueError(f"unexpected text at {self.at}")
        self.at = match.end()
        return match

    def key(self) -> tuple[str, ...]:
        parts, more = [], True
        while more:
            match = self.take(_KEY)
            parts.append(_bare(match.group(1)))
            more = match.group(2) is not None
        return tuple(parts)

    def document(self) -> None:
        table: KeyPath = ()
        self.blank()
        while self.at < len(self.text):
            if self.text[self.at] == "[":
                table = self.header()
            else:
                self.pair(table)
            self.blank()

    def header(self) -> KeyPath:
        start = self.at
        double = self.text.startswith("[[", start)
        self.at += 2 if double else 1
        key = self.key()
        self.at += 2 if double else 1
        path: KeyPath = ()
        for part in key[:-1]:
            path = self.latest((*path, part), start)
        path = (*path, key[-1])
        if double:
            self.note(path, start)
            self.tables[path] = self.tables.get(path, -1) + 1
            path = (*path, self.tables[path])
        else:
            path = self.latest(path, start)
        self.note(path, start)
        return path

    def latest(self, path: KeyPath, start: int) -> KeyPath:
        self.note(path, start)
        return (*path, self.tables[path]) if path in self.tables else path

    def pair(self, table: KeyPath) -> None:
        start = self.at
        path = table
        for part in self.key():
            path = (*path, part)
            self.note(path, start)
        self.at += 1
        self.value(path)

    def value(self, path: KeyPath) -> None:
        self.blank()
        self.note(path, self.at)
        opening = self.text[self.at]
        if opening == "[":
            self.array(path)
        elif opening == "{":
            self.inline(path)
        else:
            self.take(_STRING if opening in "\"'" else _SCALAR)

    def array(self, path: KeyPath) -> None:
        self.at += 1
        index = 0
        while not self.closed("]"):
            self.value((*path, index))
            index += 1

    def inline(self, path: KeyPath) -> None:
        self.at += 1
        while not self.closed("}"):
            self.pair(path)

    def closed(self, bracket: str) -> bool:
        self.blank()
        while self.text[self.at] == ",":
            self.at += 1
            self.blank()
        if self.text[self.at] != bracket:
            return False
        self.at += 1
        return True


def key_lines(text: str) -> Mapping[KeyPath, int]:
    """Return the line, from 1, of every key, table and array element of a TOML text.

    An array element's path holds its index from 0: ``("wall", 1, "opening", 0, "width")``.
    Where the text cannot be followed to its end (nesting too deep), what was found so far is returned.
    """
    scanner = _Scanner(text.replace("\r\n", "\n"))
    with contextlib.suppress(ValueError, IndexError, RecursionError):
        scanner.document()
    return scanner.found


def line_of(lines: Mapping[KeyPath, int], path: KeyPath) -> int:
    """Return the line of `path`, or of the nearest table around it; 0 where nothing is known."""
    for end in range(len(path), 0, -1):
        if path[:end] in lines:
            return lines[path[:end]]
    return 1 if lines else 0
