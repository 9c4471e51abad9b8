"""What tells in the workbook itself that it was handled wrongly: typed over, sorted apart, emptied.

A formula typed over, a row parted from its key and a needed input left empty change figures while every sum
still agrees. Whole formulas are counted, not broken ones: where a program does not know the question, the
answer is 'look'. Rows and figures are held against what was written.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from itertools import groupby

from estimator.calc.expressions import (
    All,
    Expr,
    Field,
    Stack,
    Value,
    call,
    count_of,
    filled_cells,
    if_,
    lift,
    round_to,
    total,
    whole,
)
from estimator.calc.tables import Draft, Table, bindings, case_keys
from estimator.tables.control import Balance

AT_ONCE = 3
"""Cells that one guard asks for: no formula is longer than can be read."""
GUARDED: Mapping[str, Sequence[str]] = {
    "purchases": ("packs", "units", "cost"), "sections": ("cost",), "order": ("units", "price", "cost"),
    "frame_work": ("member_length", "frame_area", "cloth_length"), "labour": ("hours", "cost"),
    "wage_rates": ("hourly",), "materials_form": (), "labour_job": (), "aside": (), "direct_costs": (),
    "build_up": (), "payment_plan": (),
}  # fmt: skip
"""Tables where somebody may type a figure of money or of what is bought over a formula; () for all of it."""

MAIN = {"prices": "price", "labour_rates": "likely"}
"""Lists whose main figure may be sorted alone, which no words tell."""


def _name(table: Table, index: int) -> str:
    """Return what people read first in a row of a list."""
    words = (f.values[index] for f in table.fields if f.kind == "label" and not f.link)
    return next((w for w in words if isinstance(w, str) and w), str(table.fields[0].values[index]))


def _lines(table: Table, keys: Sequence[str]) -> Iterator[tuple[str, str, list[Expr]]]:
    """Yield key, name and formula cells of each row; of a form, of each field."""
    fields = [f for f in table.fields if f.exprs and (not keys or f.key in keys)]
    if table.orientation == "across":
        yield from ((f.key, f.label, [f.at(n) for n in range(table.count)]) for f in fields)
        return
    for index, row in enumerate(case_keys(table.orientation, table.fields, table.count)):
        yield row, _name(table, index), [f.at(index) for f in fields]


def typed_over(tables: Iterable[Table]) -> Table:
    """Return for each row of the guarded tables whether its formulas are formulas still."""
    rows = [
        (f"{table.key}.{row}.{n}", f"{table.title}: {name}", every[n : n + AT_ONCE])
        for table in tables
        if table.key in GUARDED
        for row, name, every in _lines(table, GUARDED[table.key])
        for n in range(0, len(every), AT_ONCE)
    ]
    draft = Draft("guards", "Formulas that are formulas still")
    draft.keys([key for key, *_ in rows])
    draft.label("name", "Row", [name for _, name, _ in rows])
    draft.each("whole", "Whole (1 = yes)", "", [whole(cells) for *_, cells in rows], 0)
    return draft.table()


def rows_kept(lists: Iterable[Table]) -> Table:
    """Return for each row of the lists that an office edits whether its words stand beside its code."""
    rows = [
        (table, str(key), words, index)
        for table in lists
        if table.lead and (words := _words(table))
        for index, key in enumerate(table.fields[0].values)
    ]
    draft = Draft("rows_kept", "Rows of the lists, as they were written")
    draft.keys([f"{table.key}.{key}" for table, key, *_ in rows])
    draft.label("name", "List", [table.title for table, *_ in rows])
    code = draft.label("code", "Code", [key for _, key, *_ in rows])
    said = draft.label("words", "Words", [words.values[index] for *_, words, index in rows])
    apart = [if_(table.of(words.key, code).eq(said), 0, 1) for table, _, words, _ in rows]
    draft.each("apart", "Apart (1 = yes)", "", [call("IFERROR", a, 1) for a in apart], 0)
    return draft.table()


def _words(table: Table) -> Field | None:
    """Return the first column of words that is filled in every row, None without."""
    labels = (f for f in table.fields if f.kind == "label" and not f.link)
    return next((f for f in labels if all(isinstance(v, str) and v for v in f.values)), None)


def figures_kept(table: Table, field: Field) -> Table:
    """Return a column of a list as it was written, and which of its figures were changed since."""
    draft = Draft(f"{table.key}_kept", f"{table.title}, as it was written")
    code = draft.names([str(key) for key in table["key"].values], "Code")
    found = draft.decided("found", field.label, field.unit, field.values, field.places)
    now = if_(table.of(field.key, code).eq(found), 0, 1)
    draft.formula("changed", "Changed (1 = yes)", "", call("IFERROR", now, 1), places=0)
    return draft.table()


def sorted_alone(field: Field, kept: Table) -> Expr:
    """Return 1 where a column holds the same figures in other rows: the sum stayed, more than one moved."""
    level = round_to(total(field) - total(kept["found"]), 4).eq(0)
    return if_(call("AND", total(kept["changed"]).gt(1), level), 1, 0)


def emptied(tables: Iterable[Table]) -> Table:
    """Return for each column of needed inputs, and each run of them in a form, whether one is empty."""
    rows = [row for table in tables for row in _needed(table)]
    draft = Draft("emptied", "Inputs that are needed")
    draft.keys([key for key, *_ in rows])
    draft.label("name", "Input", [name for _, name, *_ in rows])
    wanted = draft.decided("wanted", "Wanted", "", [count for *_, count in rows], 0)
    found = [if_(filled_cells(cells).lt(wanted), 1, 0) for _, _, cells, _ in rows]
    draft.each("empty", "Empty (1 = yes)", "", found, 0)
    return draft.table()


def _needed(table: Table) -> Iterator[tuple[str, str, Expr, Value]]:
    """Yield key, name, cells of needed inputs and how many were filled when they were written."""
    for is_needed, run in groupby(table.fields, lambda f: f.kind == "input" and not f.optional):
        fields = tuple(run)
        if not is_needed or not table.count:
            continue
        if table.orientation == "across" and table.count == 1:
            name = f"{table.title}: {fields[0].label} to {fields[-1].label}"
            yield f"{table.key}.{fields[0].key}", name, Stack(fields), _filled(*fields)
        else:
            for f in fields:
                yield f"{table.key}.{f.key}", f"{table.title}: {f.label}", All(f), _filled(f)


def _filled(*fields: Field) -> Decimal:
    return Decimal(sum(value is not None for field in fields for value in field.values))


def hands(lists: Sequence[Table], worked: Iterable[Table]) -> tuple[tuple[Table, ...], tuple[Balance, ...]]:
    """Return the tables that tell what hands did to the workbook, and the checks on them.

    Args:
        lists: the tables of inputs.
        worked: the tables of workings and outputs.
    """
    guards, rows, empty, named = typed_over(worked), rows_kept(lists), emptied(lists), bindings(lists)
    alone = [(t, t[MAIN[t.key]], figures_kept(t, t[MAIN[t.key]])) for t in lists if t.key in MAIN]
    checks = (
        Balance("whole", "No formula was typed over (if so: undo it)", filled_cells(All(guards["key"])),
                total(guards["whole"]), rows=(guards["name"], guards["whole"], 0)),
        Balance("rows_kept", "Rows of the lists have the words of their codes (if not: undo the sorting)",
                total(rows["apart"]), lift(0), rows=(rows["words"], rows["apart"], 1)),
        *(Balance(kept.key, f"{table.title}: {field.label.lower()} was not sorted apart from its rows",
                  sorted_alone(field, kept), lift(0)) for table, field, kept in alone),
        Balance("named", "Every named input stands beside its own words (if not: undo the sorting)",
                count_of(named["check"], "ok"), filled_cells(All(named["key"])),
                rows=(named["label"], named["check"], "look")),
        Balance("emptied", "No input that is needed is empty", total(empty["empty"]), lift(0),
                rows=(empty["name"], empty["empty"], 1)),
    )  # fmt: skip
    return (guards, rows, *(kept for *_, kept in alone), empty, named), checks
