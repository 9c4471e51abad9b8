"""Random formulas: what is evaluated here equals what a spreadsheet engine makes of the formula written.

The engine (ironcalc) shares no code with this project; it sees only the text of each formula.
"""

from decimal import Decimal as D

import ironcalc
from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.calc.evaluation import CellError
from estimator.calc.expressions import Expr, Field, call, if_, lift, product_total, round_to, total, whole_up
from estimator.calc.formulas import Renderer
from estimator.calc.tables import Book, Draft, FieldAddresses, Sheet, data_rows

NUMBERS = st.decimals(min_value=-20, max_value=20, places=2)
SIGNS = st.sampled_from("+-*/")


def _expressions(fields: list[Field]) -> st.SearchStrategy[Expr]:
    leaf = st.sampled_from([lift(f) for f in fields] + [f.at(1) for f in fields] + [lift(1), lift(2)])

    def grown(inner: st.SearchStrategy[Expr]) -> st.SearchStrategy[Expr]:
        joined = st.tuples(SIGNS, inner, inner).map(lambda t: _joined(*t))
        chosen = st.tuples(leaf, leaf, inner, inner).map(lambda t: if_(t[0].gt(t[1]), t[2], t[3]))
        wrapped = st.tuples(st.sampled_from([0, 1, 2]), inner).map(lambda t: _wrapped(*t))
        summed = st.sampled_from([total(fields[0]), product_total(fields[0], fields[1])])
        return joined | chosen | wrapped | summed

    return st.recursive(leaf, grown, max_leaves=8)


def _joined(sign: str, left: Expr, right: Expr) -> Expr:
    return {"+": left + right, "-": left - right, "*": left * right, "/": left / right}[sign]


def _wrapped(kind: int, inner: Expr) -> Expr:
    if kind == 0:
        return call("IFERROR", inner, 0)
    return call("MAX", inner, 1) if kind == 1 else call("MIN", inner, 2, inner * inner)


@st.composite
def sheets(draw: st.DrawFn) -> tuple[Book, list[Field]]:
    table = Draft("t", "T")
    table.keys(["a", "b", "c"])
    inputs = [table.input(name, name, "", draw(st.lists(NUMBERS, min_size=3, max_size=3))) for name in "xyz"]
    for number in range(draw(st.integers(1, 6))):
        try:
            table.formula(f"f{number}", "F", "", draw(_expressions(inputs)))
        except CellError:
            continue
    built = table.table()
    return Book((Sheet("S", "workings", "", (built,)),)), [f for f in built.fields if f.exprs]


def _model(book: Book) -> "ironcalc.Model":
    model, placement = ironcalc.create("book", "en", "UTC", "en"), FieldAddresses(book)
    model.rename_sheet(0, "S")
    writer, (table,) = Renderer(placement, "S"), book.sheets[0].tables
    for field in table.fields[1:]:
        for row in range(data_rows(table)):
            _, at, column = placement.cell(field, row)
            if field.exprs:
                model.update_cell_with_formula(0, at, column, writer.formula(field.exprs[0], row))
            else:
                value = field.values[row]
                assert isinstance(value, D)
                model.update_cell_with_number(0, at, column, float(value))
    model.evaluate()
    return model


def _close(ours: D, theirs: object) -> bool:
    assert isinstance(theirs, float), theirs
    return abs(float(ours) - theirs) <= 1e-9 * max(1e3, abs(theirs))


@settings(max_examples=150, deadline=None)
@given(sheets())
def test_random_formulas_agree(made: tuple[Book, list[Field]]) -> None:
    book, fields = made
    model, placement = _model(book), FieldAddresses(book)
    for field in fields:
        for row, ours in enumerate(field.values):
            _, at, column = placement.cell(field, row)
            assert isinstance(ours, D)
            assert _close(ours, model.get_cell_value(0, at, column)), model.get_cell_formula(0, at, column)


@settings(max_examples=300, deadline=None)
@given(NUMBERS, NUMBERS, st.sampled_from([0, 1, 2, 3]))
def test_rounding_of_products_agrees(a: D, b: D, places: int) -> None:
    table = Draft("t", "T")
    table.keys(["a"])
    x, y = table.input("x", "x", "", [a]), table.input("y", "y", "", [b])
    table.formula("r", "r", "", round_to(x * y, places))
    table.formula("w", "w", "", whole_up(x * y))
    book = Book((Sheet("S", "workings", "", (table.table(),)),))
    model = _model(book)
    for column, field in ((4, table.fields[3]), (5, table.fields[4])):
        assert model.get_cell_value(0, 8, column) == float(field.values[0] or 0)  # type: ignore[arg-type]
