"""Which line of a TOML text each key stands on; `tomllib` does not say, the grammar's tree does.

Only texts that `tomllib` has already read are looked at, so nothing is checked here twice.
"""

import tomllib
from collections.abc import Iterator, Mapping
from contextlib import suppress

import tree_sitter_toml
from tree_sitter import Language, Node, Parser

from estimator.intake.structured import KeyPath

_TOML = Language(tree_sitter_toml.language())


class _Lines:
    """The line of every key, table and array element, noted in the order of the text."""

    def __init__(self) -> None:
        self.found: dict[KeyPath, int] = {}
        self.tables: dict[KeyPath, int] = {}

    def note(self, path: KeyPath, node: Node) -> None:
        self.found.setdefault(path, node.start_point.row + 1)

    def document(self, root: Node) -> None:
        for node in _inner(root):
            if node.type == "pair":
                self.pair((), node)
            elif node.named_children:
                table = self.header(node)
                for pair in _inner(node)[1:]:
                    self.pair(table, pair)

    def header(self, node: Node) -> KeyPath:
        path: KeyPath = ()
        *above, last = _parts(_inner(node)[0])
        for part in above:
            path = self.latest((*path, part), node)
        path = (*path, last)
        if node.type == "table_array_element":
            self.tables[path] = self.tables.get(path, -1) + 1
        path = self.latest(path, node)
        self.note(path, node)
        return path

    def latest(self, path: KeyPath, node: Node) -> KeyPath:
        """Note a table, or an array of tables; return the path of it, or of the array's last."""
        self.note(path, node)
        return (*path, self.tables[path]) if path in self.tables else path

    def pair(self, path: KeyPath, node: Node) -> None:
        key, value = _inner(node)
        for part in _parts(key):
            path = (*path, part)
            self.note(path, node)
        self.value(path, value)

    def value(self, path: KeyPath, node: Node) -> None:
        self.note(path, node)
        if node.type == "array":
            for index, element in enumerate(_inner(node)):
                self.value((*path, index), element)
        elif node.type == "inline_table":
            for pair in _inner(node):
                self.pair(path, pair)


def _inner(node: Node) -> list[Node]:
    return [child for child in node.named_children if child.type not in {"comment", "ERROR"}]


def _parts(key: Node) -> Iterator[str]:
    """Yield the parts of a dotted key as `tomllib` reads them."""
    inner: object = tomllib.loads(f"{(key.text or b'').decode()} = 0")
    while isinstance(inner, dict):
        ((part, inner),) = inner.items()
        yield part


def key_lines(text: str) -> Mapping[KeyPath, int]:
    """Return the line, from 1, of every key, table and array element of a TOML text.

    An array element's path holds its index from 0: ``("wall", 1, "opening", 0, "width")``.
    Where the text cannot be followed to its end (nesting too deep), what was found so far is returned.
    """
    lines = _Lines()
    with suppress(ValueError, RecursionError):
        lines.document(Parser(_TOML).parse(text.encode()).root_node)
    return lines.found


def line_of(lines: Mapping[KeyPath, int], path: KeyPath) -> int:
    """Return the line of `path`, or of the nearest table around it; 0 where nothing is known."""
    for end in range(len(path), 0, -1):
        if path[:end] in lines:
            return lines[path[:end]]
    return 1 if lines else 0
