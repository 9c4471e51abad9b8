"""What cannot be written: text and numbers that a workbook would lose or that would make it unreadable."""

import datetime as dt
import re
from collections import Counter
from collections.abc import Iterable, Iterator
from decimal import Decimal

from estimator.calc.expressions import Value
from estimator.calc.tables import Book, Table, row_keys
from estimator.core.errors import Problem

LONGEST_TEXT = 32_767
LONGEST_TITLE = 31
FIRST_DATE = dt.date(1900, 3, 1)
_UNREADABLE = re.compile("[\x00-\x08\x0b-\x1f\ud800-\udfff\ufffe\uffff]")
_ESCAPE = re.compile("_(?=x[0-9A-Fa-f]{4}_)")
_TITLE = re.compile(r"[\\/*?:\[\]]|^'|'$")
_NAME = re.compile(r"[A-Za-z_][A-Za-z0-9_]{0,200}")
_ADDRESS = re.compile(r"[a-z]{1,3}[0-9]+|(?:r[0-9]*)?(?:c[0-9]*)?|true|false", re.IGNORECASE)
_WILD = re.compile(r"[*?~]|^[<>=]")


def escaped(text: str) -> str:
    """Return text as a part of the file holds it: ``_x0041_`` would be read as the letter A."""
    return _ESCAPE.sub("_x005F_", text) if "_x" in text else text


def text_problems(where: str, text: str) -> Iterator[Problem]:
    """Yield why `text` cannot stand in a cell."""
    bad = _UNREADABLE.search(text)
    if bad:
        what = f"holds the character U+{ord(bad[0]):04X}, which no workbook can hold"
        yield Problem(where, what, "Delete that character and type the text anew.")
    length = len(text) + sum(1 for c in text if ord(c) > 0xFFFF)  # noqa: PLR2004 - cells count UTF-16 units
    if length > LONGEST_TEXT:
        what = f"is {length:,} characters long; a cell holds {LONGEST_TEXT:,}"
        yield Problem(where, what, "Shorten it.")


def _value_problems(where: str, value: Value) -> Iterator[Problem]:
    if isinstance(value, str):
        yield from text_problems(where, value)
    elif isinstance(value, Decimal) and not value.is_finite():
        yield Problem(where, f"is {value}, which is no number", "Check the values it is made from.")
    elif isinstance(value, dt.date) and value < FIRST_DATE:
        yield Problem(where, f"is {value}, before any date a workbook can hold", "Check the year.")


def _table_problems(table: Table) -> Iterator[Problem]:
    for text in (table.title, table.note):
        yield from text_problems(table.key, text)
    rows = row_keys(table)
    for key, times in Counter(k.casefold() for k in rows).items():
        if times > 1:
            yield Problem(f"{table.key}.{key}", f"stands {times} times", "Each row needs a name of its own.")
        if _WILD.search(key):
            what = "has * ? ~ or begins with < > =, which look-ups take for a pattern"
            yield Problem(f"{table.key}.{key}", what, "Choose another name.")
    for field in table.fields:
        for text in (field.label, field.unit, field.source):
            yield from text_problems(f"{table.key}.{field.key}", text)
        for row, value in zip(rows, field.values, strict=False):
            yield from _value_problems(f"{table.key}.{field.key}.{row}".rstrip("."), value)


def is_name(text: str) -> bool:
    """Return whether `text` may be a defined name: no cell address, no row or column."""
    return bool(_NAME.fullmatch(text)) and not _ADDRESS.fullmatch(text)


def names(book: Book) -> list[str]:
    """Return every defined name the workbook will hold: the rows of forms of one case."""
    forms = (t for s in book.sheets for t in s.tables if t.orientation == "across" and t.count == 1)
    return [f.key for t in forms for f in t.fields if f.kind != "key"]


def _twice(what: str, texts: Iterable[str]) -> Iterator[Problem]:
    for text, times in Counter(t.casefold() for t in texts).items():
        if times > 1:
            yield Problem(text, f"is the {what} of {times}", "Each needs its own.")


def problems(book: Book) -> tuple[Problem, ...]:
    """Return everything that keeps the book from being written; () when nothing does."""
    found: list[Problem] = []
    for sheet in book.sheets:
        found += text_problems(sheet.title, sheet.title + sheet.purpose)
        if not sheet.title or len(sheet.title) > LONGEST_TITLE or _TITLE.search(sheet.title):
            what = f"is no title for a sheet: 1 to {LONGEST_TITLE} characters, none of \\ / * ? : [ ]"
            found.append(Problem(sheet.title, what, "Choose another title."))
        for table in sheet.tables:
            found += _table_problems(table)
    found += [
        Problem(n, "cannot be a name in the workbook: it reads as a cell", "Choose another key.")
        for n in names(book)
        if not is_name(n)
    ]
    found += _twice("title of a sheet", (s.title for s in book.sheets))
    found += _twice("key of a table", (t.key for s in book.sheets for t in s.tables))
    found += _twice("name of a form's row", names(book))
    return tuple(found)
