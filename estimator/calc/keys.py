"""The key of every input, ``table.field.row``: it travels with its row through whatever the office does."""

from collections.abc import Iterator
from itertools import count, islice

from estimator.calc.expressions import KeyAt, call, if_
from estimator.calc.tables import Book, Draft, Field, Table, case_keys, input_key

SPARE = "spare-"


def row_keys(table: Table) -> tuple[str, ...]:
    """Return the keys of a table's rows, spare ones last; of a form, the keys of its cases.

    A spare row that was filled in keeps its key, so fresh spare rows count past it.
    """
    spare = table.spare if table.orientation == "down" else 0
    own = case_keys(table.orientation, table.fields, table.count)
    free = (key for key in (f"{SPARE}{i}" for i in count(1)) if key not in own)
    return (*own, *islice(free, spare))


def written_by_office(key: str) -> bool:
    """Return whether a row of that key is the office's to write, labels too: a spare row, filled or not."""
    return key.startswith(SPARE)


def own_rows(table: Table) -> int:
    """Return how many rows the program filled; the office's own follow them, then the spare ones.

    Only a table with spare rows has rows of the office's own; others may follow it row by row.
    """
    keys = case_keys(table.orientation, table.fields, table.count)
    return sum(not (table.spare and written_by_office(key)) for key in keys)


def is_open(field: Field, *, spare: bool) -> bool:
    """Return whether the office may write into a field's cells; spare rows take their labels too."""
    return field.kind == "input" or (spare and field.kind == "label")


def input_cells(book: Book) -> Iterator[tuple[str, Field, int]]:
    """Yield key, field and index of every cell open to the office; spare rows count on after the rest."""
    for table in (t for s in book.sheets for t in s.tables):
        own = own_rows(table)
        for index, row in enumerate(row_keys(table)):
            for field in table.fields:
                if is_open(field, spare=index >= own):
                    yield input_key(field.table, field.key, row), field, index


def bindings(tables: tuple[Table, ...]) -> Table:
    """Return the table that checks each defined name still stands beside its own key.

    Sorting or deleting the rows of a form leaves its names pointing elsewhere while totals still agree;
    this table then says 'look'. For a control sheet.

    Args:
        tables: forms of one case; others have no names and are passed over.
    """
    forms = [t for t in tables if t.orientation == "across" and t.count == 1]
    named = [f for t in forms for f in t.fields if f.kind == "input"]
    draft = Draft("bindings", "Named inputs")
    keys = draft.keys([f.key for f in named])
    draft.label("label", "Input", [f.label for f in named])
    found = draft.each("found", "Key found", "", [call("IFERROR", KeyAt(f), "gone") for f in named])
    draft.formula("check", "Check", "", if_(found.eq(keys), "ok", "look"))
    return draft.table()
