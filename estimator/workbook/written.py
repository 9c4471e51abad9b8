"""What was written, in short codes that the workbook keeps: so that whatever came since can be told from it.

Every text, every row with its words and decided figures, and every line of formulas has a code of five
letters, 30 bits of a BLAKE2 digest: one text in some ten thousand million pairs is taken for another.
"""

import datetime as dt
from base64 import b64encode
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from decimal import Decimal
from functools import lru_cache
from hashlib import blake2b
from typing import Literal

from estimator.calc.expressions import Value
from estimator.calc.tables import Book, Draft, Table, input_key, own_rows, row_keys
from estimator.core.money import decimal, rounded
from estimator.workbook.found import KeyedRow
from estimator.workbook.validation import serial

WRITTEN_TABLE, KEPT_HEAD, CHUNKS = "written", "kept", "codes-"
Kind = Literal["label", "value"]
KINDS: tuple[Kind, ...] = ("label", "value")
LETTERS, CHUNK = 5, 100
KEPT = 1 << 15
"""Codes kept: what a column holds is asked of every row."""
Words = Mapping[str, Value | bool]


def _plain(value: Value | bool) -> str:  # noqa: FBT001 - a cell's value
    if isinstance(value, Decimal):
        return f"{decimal(value).normalize() + 0:f}"
    if isinstance(value, dt.date):
        return str(serial(value))
    return str(value)


@lru_cache(maxsize=KEPT)
def code(*parts: Value | bool) -> str:
    """Return the code of some texts and figures in this order; numbers count to 15 digits."""
    body = "\x1f".join(map(_plain, parts)).encode("utf-8", "surrogatepass")
    return b64encode(blake2b(body, digest_size=4).digest())[:LETTERS].decode()


def words_code(*head: str, words: Words) -> str:
    """Return the code of a row's words, in whatever order its columns stand; blanks do not count."""
    held = ((k, v) for k, v in sorted(words.items()) if v not in {None, ""})
    return code(*head, *(part for pair in held for part in pair))


def _result_code(key: str, value: Value | bool) -> str:  # noqa: FBT001
    """Return the code of a formula's result, which programs work out alike but for its last digits."""
    return code("result", key, rounded(value, 4) if isinstance(value, Decimal) else value)


def _list_codes(table: Table) -> Iterator[str]:
    own, kinds = own_rows(table), [kind for kind in KINDS if any(f.kind == kind for f in table.fields)]
    for index, row in enumerate(row_keys(table)):
        yield code("row", table.key, row)
        if index >= own:
            yield code("open", table.key, row)
            continue
        for kind in kinds:
            held = {f.key: f.values[index] for f in table.fields if f.kind == kind}
            yield words_code(kind, table.key, row, words=held)
            if table.lead and any(held.values()):
                yield words_code(kind, table.key, words=held)


def _form_codes(table: Table) -> Iterator[str]:
    cases = row_keys(table)
    for field in table.fields:
        yield code("row", table.key, field.key)
        yield words_code("label", table.key, field.key, words={"": field.label})
        yield words_code("label", table.key, words={"": field.label})
        held = dict(zip(cases, field.values, strict=True))
        if field.kind in {"label", "value"}:
            yield words_code("value", table.key, field.key, words=held)
        if field.exprs:
            yield from (_result_code(input_key(table.key, field.key, c), v) for c, v in held.items())


def book_codes(book: Book) -> Iterator[str]:
    """Yield the codes of every row and every line of formulas of a book."""
    for table in (t for s in book.sheets for t in s.tables):
        across = table.orientation == "across"
        yield from (_form_codes if across else _list_codes)(table)
        heads = row_keys(table) if across else (field.key for field in table.fields)
        yield from (code("head", table.key, head) for head in heads)
        for field in table.fields:
            yield code("kind", table.key, field.key, "formula" if field.exprs else field.kind)


def written(book: Book, texts: Iterable[str], properties: Mapping[str, str]) -> Table:
    """Return the table that keeps the codes of a book and of every text that was written with it.

    It holds the properties too: not every program keeps those of the file.
    """
    every = sorted({*book_codes(book), *(code("text", text) for text in texts)})
    chunks = [" ".join(every[i : i + CHUNK]) for i in range(0, len(every), CHUNK)]
    draft = Draft(WRITTEN_TABLE, "What was written, in short")
    draft.keys([*properties, *(f"{CHUNKS}{n}" for n in range(1, len(chunks) + 1))])
    draft.decided(KEPT_HEAD, "Kept", "", [*properties.values(), *chunks])
    return draft.table()


class Codes(frozenset[str]):
    """The codes that a returned workbook kept."""

    def knows(self, row: KeyedRow) -> bool:
        """Return whether a row was written."""
        return code("row", row.table, row.key) in self

    def ours(self, row: KeyedRow) -> KeyedRow:
        """Return a row with only the cells whose heads were written."""
        known = {head: cell for head, cell in row.cells.items() if code("head", row.table, head) in self}
        return replace(row, cells=known)

    def is_text(self, value: Value | bool) -> bool:  # noqa: FBT001 - a cell's value
        """Return whether a text was written anywhere."""
        return isinstance(value, str) and code("text", value) in self

    def is_formula(self, row: KeyedRow, head: str) -> bool:
        """Return whether a cell of a row was written as a formula."""
        return self._is(row, head, "formula")

    def is_value(self, row: KeyedRow, head: str) -> bool:
        """Return whether a cell of a row was written as decided by the program."""
        return self._is(row, head, "value")

    def _is(self, row: KeyedRow, head: str, kind: str) -> bool:
        return code("kind", row.table, row.key if row.across else head, kind) in self

    def _words(self, row: KeyedRow, kind: Kind) -> Words:
        held = {head: cell.value for head, (_, cell) in row.cells.items()}
        if not row.across:
            return {head: value for head, value in held.items() if self._is(row, head, kind)}
        if kind == "value":
            return held if self._is(row, "", "value") or self._is(row, "", "label") else {}
        known = (c.value for c in row.beside if words_code(kind, row.table, words={"": c.value}) in self)
        return {"": next(known, None)}

    def keeps(self, row: KeyedRow, kind: Kind) -> bool:
        """Return whether a row's words ('label') or decided figures ('value') are as they were written."""
        words = self._words(row, kind)
        if not words or code("open", row.table, row.key) in self:
            return True
        return words_code(kind, row.table, row.key, words=words) in self

    def has_words_of_another(self, row: KeyedRow) -> bool:
        """Return whether a row holds words or decided figures that were written, but beside another key."""
        return any(
            not self.keeps(row, kind) and words_code(kind, row.table, words=self._words(row, kind)) in self
            for kind in KINDS
        )

    def names_rows(self, row: KeyedRow) -> bool:
        """Return whether the rows of a list have words beside their keys."""
        return any(self._is(row, head, "label") for head in row.cells)

    def moved(self, key: str, value: Value | bool) -> bool:  # noqa: FBT001
        """Return whether the result of a form's formula is another than was written."""
        return _result_code(key, value) not in self


def kept_in(rows: Iterable[KeyedRow]) -> tuple[dict[str, str], Codes]:
    """Return the properties and the codes that a returned workbook kept in its own table."""
    cells = (
        (row.key, row.cells[KEPT_HEAD][1])
        for row in rows
        if row.table == WRITTEN_TABLE and KEPT_HEAD in row.cells
    )
    held = {key: str(cell.value) for key, cell in cells}
    chunks = {key: held.pop(key) for key in [*held] if key.startswith(CHUNKS)}
    return held, Codes(" ".join(chunks.values()).split())
