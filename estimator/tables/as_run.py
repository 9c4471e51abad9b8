"""Inputs that no formula reads: only the program applies them, so a change must be seen and said.

The shop's least piece, the saw cut or the days in a quote decide the layout, a plan or a paper. The workbook
holds each as the program found it beside the cell as it is now; a check counts those that differ.
"""

from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal

from estimator.calc.expressions import All, At, Block, Call, Expr, Field, Op, Stack, Value, if_
from estimator.calc.tables import Draft, Table, case_keys, input_key
from estimator.pipeline import Estimate
from estimator.takeoff.quantities import Takeoff

Cell = tuple[Table, Field, int]
"""Table, field and index of an input."""
_DECIDE = {"practice", "waste", "units", "frames", "prices"}
"""Tables whose inputs decide what is built and bought."""
WHOLE = "of 1"
"""Unit of a share among other numbers, where no cell can be shown in hundredths."""


def fields_read(expr: Expr) -> Iterator[Field]:
    """Yield every field whose cells an expression reads."""
    if isinstance(expr, Field):
        yield expr
    elif isinstance(expr, At | All):
        yield expr.field
    elif isinstance(expr, Block | Stack):
        yield from expr.fields
    elif isinstance(expr, Op):
        yield from fields_read(expr.left)
        yield from fields_read(expr.right)
    elif isinstance(expr, Call):
        for argument in expr.args:
            yield from fields_read(argument)


def unread(inputs: Iterable[Table], workings: Iterable[Table], checks: Iterable[Expr] = ()) -> Iterator[Cell]:
    """Yield the numbers and choices among the inputs that no formula of inputs, workings or checks reads.

    Text that is only shown, such as an allowance's, is complete where it stands and passed over.
    """
    given = tuple(inputs)
    tables = (*given, *workings)
    formulas = (e for t in tables for field in t.fields for e in field.exprs)
    read = {field for expr in (*formulas, *checks) for field in fields_read(expr)}
    for table in given:
        for field in table.fields:
            if field.kind == "input" and field not in read and _decides(field):
                yield from ((table, field, i) for i in range(table.count))


def _decides(field: Field) -> bool:
    return bool(field.choices) or all(isinstance(v, Decimal) for v in field.values)


def _key(table: Table, field: Field, index: int) -> str:
    row = case_keys(table.orientation, table.fields, table.count)[index]
    return input_key(table.key, field.key, row).replace(".", "-")


def _now(table: Table, field: Field, index: int) -> Expr:
    """Return the input's cell as it stands now, by its key where rows may be sorted."""
    return table.of(field.key, str(table.value("key", index))) if table.lead else field.at(index)


def _name(table: Table, field: Field, index: int) -> str:
    """Return an input's label, with its table and what stands in its row where the table has several."""
    if table.count == 1:
        return field.label
    shown = (f.values[index] for f in table.fields if f.kind == "label" and not f.link)
    row = next((words for words in shown if isinstance(words, str) and words), f"row {index + 1}")
    return f"{table.title}, {row}: {field.label}"


def decide_options(estimate: Estimate, inputs: Iterable[Table]) -> Iterator[Cell]:
    """Yield the numbers and choices by which the options were worked out, and which they do not follow.

    Prices, packs, wages, rates and terms are followed; but what a cutting plan weighed is not.
    """
    weighed = {str(k) for o in estimate.options.values() for k in _weighed(o.takeoff)}
    for table in inputs:
        for field in table.fields if table.key in _DECIDE else ():
            if field.kind == "input" and _decides(field):
                rows = case_keys(table.orientation, table.fields, table.count)
                followed = table.key == "prices"
                yield from ((table, field, i) for i, row in enumerate(rows) if not followed or row in weighed)


def _weighed(takeoff: Takeoff) -> Iterator[Value]:
    """Yield the items of a takeoff whose prices a cutting plan weighed."""
    yield from takeoff.tables["plan_prices"]["key"].values


def as_run(
    cells: Iterable[Cell], head: str = "", decides: str = "only the program applies"
) -> tuple[Table, Table]:
    """Return those inputs as the program found them, as they are now, and whether they differ.

    Numbers stand in the first table, choices in the second: a column holds either.

    Args:
        cells: the inputs.
        head: begins the keys of the tables.
        decides: what the inputs have in common.
    """
    rows = tuple(cells)
    numbers = [cell for cell in rows if not cell[1].choices]
    choices = [cell for cell in rows if cell[1].choices]
    return (
        _found(f"{head}as_run", f"Numbers that {decides}", numbers),
        _found(f"{head}as_run_choices", f"Choices that {decides}", choices),
    )


def _found(key: str, title: str, rows: Sequence[Cell]) -> Table:
    table = Draft(key, title)
    table.keys([_key(*cell) for cell in rows])
    table.label("input", "Input", [_name(*cell) for cell in rows])
    if not all(field.choices for _, field, _ in rows):
        table.label("unit", "Unit", [WHOLE if field.unit == "%" else field.unit for _, field, _ in rows])
    found = table.decided("found", "When it ran", "", [field.values[i] for _, field, i in rows], places=4)
    now = table.each("now", "Now", "", [_now(*cell) for cell in rows], places=4)
    table.formula("differs", "Changed (1 = yes)", "", if_(now.eq(found), 0, 1), places=0)
    return table.table()
