"""The key of every input, ``table.field.row``: it travels with its row through whatever the office does.

Spare rows: a table with its blank rows filled in as a spreadsheet would show them.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import count, islice

from estimator.calc.evaluation import evaluate
from estimator.calc.expressions import Call, Expr, Field, KeyAt, Op, Value, call, if_
from estimator.calc.tables import Book, Draft, Table, case_keys, input_key

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


def bindings(tables: Sequence[Table]) -> Table:
    """Return the table that checks each defined name still stands beside its own key and words.

    Sorting or deleting the rows of a form leaves its names pointing elsewhere while totals still agree;
    this table then says 'look'. For a control sheet.

    Args:
        tables: forms of one case; others have no names and are passed over.
    """
    forms = [t for t in tables if t.orientation == "across" and t.count == 1]
    named = [f for t in forms for f in t.fields if f.kind == "input"]
    draft = Draft("bindings", "Named inputs")
    keys = draft.keys([f.key for f in named])
    label = draft.label("label", "Input", [f.label for f in named])
    found = draft.each("found", "Key found", "", [call("IFERROR", KeyAt(f), "gone") for f in named])
    words = draft.each("words", "Words beside it", "", [call("IFERROR", KeyAt(f, 1), "gone") for f in named])
    both = if_(call("AND", found.eq(keys), words.eq(label)), "ok", "look")
    draft.formula("check", "Check", "", call("IFERROR", both, "look"))
    return draft.table()


def _moved(expr: Expr, to: dict[Field, Field]) -> Expr:
    if isinstance(expr, Field):
        return to.get(expr, expr)
    if isinstance(expr, Op):
        return Op(expr.sign, _moved(expr.left, to), _moved(expr.right, to))
    if isinstance(expr, Call):
        return Call(expr.name, tuple(_moved(a, to) for a in expr.args))
    return expr


def padded(table: Table) -> Table:
    """Return `table` with its spare rows as cells: keyed, blank, each formula evaluated on blanks.

    Raises:
        CellError: a formula that a blank row makes an error; wrap it in IFERROR.
    """
    if table.orientation == "across" or not table.spare:
        return table
    rows = range(table.count, table.count + table.spare)
    moved: dict[Field, Field] = {}
    for field in table.fields:
        more: tuple[Value, ...] = (None,) * table.spare
        if field.kind == "key":
            more = row_keys(table)[table.count :]
        elif field.kind == "formula":
            expr = _moved(field.exprs[0], moved)
            more = tuple(evaluate(expr, row) for row in rows)
        moved[field] = replace(field, values=field.values + more)
    return replace(table, fields=tuple(moved.values()))
