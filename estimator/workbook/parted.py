"""Rows parted from their keys: sorted without all of their columns, or one column sorted alone."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal

from estimator.calc.expressions import Value
from estimator.core.errors import Problem
from estimator.workbook.found import KeyedRow
from estimator.workbook.written import Codes

SHOWN, MIXED = 3, 3
"""Rows listed of many; different figures in other rows from which a column was sorted and not typed anew."""
UNDO = "Undo the sorting there, or sort whole rows with their codes, and read it back again."


def listed(places: Iterable[str]) -> str:
    """Return the first of some places, and how many more there are."""
    every = list(places)
    more = len(every) - SHOWN
    return "; ".join(every[:SHOWN]) + (f" and {more} more" if more > 0 else "")


def mixed_rows(rows: Iterable[KeyedRow], codes: Codes) -> Iterator[Problem]:
    """Yield each table in which rows hold the words of other rows than their keys name."""
    found: dict[str, list[KeyedRow]] = defaultdict(list)
    for row in rows:
        if codes.has_words_of_another(row):
            found[row.table].append(row)
    for mixed in found.values():
        what = "other words stand beside these keys than were written: " + ", ".join(
            r.key for r in mixed[:SHOWN]
        )
        yield Problem(listed(row.where for row in mixed), what, UNDO)


def sorted_columns(
    rows: Iterable[KeyedRow], was: Mapping[str, Value], now: Mapping[str, Value], codes: Codes
) -> Iterator[Problem]:
    """Yield each column of inputs that holds the same figures as when it was written, in other rows.

    Of two figures that changed places it is a warning: somebody may have mended what was wrong.
    Rows of a list without words, such as payment steps, may change places as a whole.
    """
    tables: dict[str, list[KeyedRow]] = defaultdict(list)
    for row in rows:
        if not row.across:
            tables[row.table].append(row)
    for table in tables.values():
        heads = [h for h in table[0].cells if any(r.input_key(h) in was for r in table)]
        before, after = ([[v.get(r.input_key(h)) for h in heads] for r in table] for v in (was, now))
        if not codes.names_rows(table[0]) and _alike(map(tuple, before), map(tuple, after)):
            continue
        for head, old, new in zip(heads, zip(*before, strict=True), zip(*after, strict=True), strict=True):
            yield from _sorted_column(table, head, old, new)


def _alike(before: Iterable[object], after: Iterable[object]) -> bool:
    return Counter(before) == Counter(after)


def _sorted_column(
    table: list[KeyedRow], head: str, old: tuple[Value, ...], new: tuple[Value, ...]
) -> Iterator[Problem]:
    moved = [(row, a, b) for row, a, b in zip(table, old, new, strict=True) if a != b]
    figures = {a for _, a, _ in moved if isinstance(a, Decimal)}
    if len(figures) > 1 and _alike((a for _, a, _ in moved), (b for *_, b in moved)):
        what = f"the same figures stand in other rows of {table[0].table}.{head}"
        few = len(figures) < MIXED
        fix = "See that each stands where it should." if few else UNDO
        places = listed(row.address(head) for row, *_ in moved)
        yield Problem(places, what, fix, severity="warning" if few else "error")
