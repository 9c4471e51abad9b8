"""Rows that an office sorts: no formula reads them by their place, and their keys travel with them."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from estimator.calc.expressions import All, At, Call, Expr, Field, Op
from estimator.calc.tables import Book, Table
from estimator.catalogue.load import load
from estimator.pipeline import estimate
from estimator.tables.book import book_of

EXAMPLES = Path(__file__).parents[2] / "examples"
NAMES = ("rehearsal_room", "chapel_annex", "voice_booth", "one_panel")


def lists(book: Book) -> dict[str, Table]:
    """Return the lists that an office edits: tables of columns with inputs."""
    tables = (t for s in book.sheets for t in s.tables if t.orientation == "down")
    return {t.key: t for t in tables if any(f.kind == "input" for f in t.fields)}


def by_place(expr: Expr, own: str) -> Iterator[Field]:
    """Yield the fields of other tables of which an expression reads a cell by where it stands."""
    if isinstance(expr, Field | At):
        field = expr if isinstance(expr, Field) else expr.field
        if field.table != own:
            yield field
    elif isinstance(expr, Op):
        yield from by_place(expr.left, own)
        yield from by_place(expr.right, own)
    elif isinstance(expr, Call):
        ranges = [a.field for a in expr.args if isinstance(a, All)]
        if expr.name in {"SUMPRODUCT", "SUMIFS"} and len({f.table for f in ranges}) > 1:
            yield from ranges
        for argument in expr.args:
            yield from by_place(argument, own)


@pytest.mark.parametrize("name", NAMES)
def test_what_an_office_sorts_is_looked_up_by_key(name: str) -> None:
    job, catalogue, _ = load(EXAMPLES / name / "job.toml")
    book = book_of(estimate(job, catalogue))
    sorted_ = lists(book)
    assert {t.key for t in sorted_.values() if not t.lead} == set()
    read = {
        f"{table.key}.{field.key} reads {other}"
        for s in book.sheets
        for table in s.tables
        for field in table.fields
        for expr in field.exprs
        for other in by_place(expr, table.key)
        if other.table in sorted_
    }
    assert read == set()
