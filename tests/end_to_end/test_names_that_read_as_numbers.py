"""Names that a program could read as number, date, truth, error or pattern are told apart by every engine.

Spreadsheet programs read the criterion of SUMIFS anew, each in its own way: '06' matches '6', 'TRUE' a truth.
The workbook compares texts instead. Names with * ? ~ are refused when it is written.
"""

from decimal import Decimal as D
from pathlib import Path

import pytest

from estimator.calc.evaluation import number
from estimator.calc.expressions import find, total_where
from estimator.calc.tables import Book, Draft, Sheet
from estimator.workbook.build import workbook_bytes
from tests.workbook.recalculate import Engine, compare_with, recalculated

SECTIONS = (
    "06", "6", "6.0", "1e3", "1000", "TRUE", "1", "#N/A", "#REF!", "2026-01-01", "46023", "Mar 5", "12%",
    "0.12", "1/2", "$5", "5", "6:30", "1,5", "+1", "-1", "FALSE", "1E+3", "(5)", "Boards",
)  # fmt: skip
KEYS = ("06", "6", "6.0", "1e3", "1000", "2026-01-01", "46023", "true", "1.5", "1.50", "n-1")
"""As they stand in price lists: small letters, digits, points, hyphens, underscores."""


def book() -> Book:
    """Return lines of money, each in a section of its own and one more in the next; and prices by key."""
    lines = Draft("lines", "Lines")
    lines.keys([f"line {n}" for n in range(2 * len(SECTIONS))])
    section = lines.input("section", "Section", "", [*SECTIONS, *SECTIONS[1:], SECTIONS[0]])
    cost = lines.input("cost", "Cost", "$", [D(2) ** (n % 20) for n in range(2 * len(SECTIONS))])
    sections = Draft("sections", "Sections")
    names = sections.keys(list(SECTIONS))
    sections.formula("sum", "Cost", "$", total_where(cost, section, names))
    prices = Draft("prices", "Prices")
    keys = prices.keys(list(KEYS))
    price = prices.input("price", "Price", "$", [D(2) ** n for n in range(len(KEYS))])
    asked = Draft("asked", "Asked")
    wanted = asked.keys(list(reversed(KEYS)))
    asked.formula("price", "Price", "$", find(price, keys, wanted))
    tables = tuple(draft.table() for draft in (lines, sections, prices, asked))
    return Book((Sheet("One", "workings", "Names that mislead.", tables),))


def test_the_program_tells_them_apart() -> None:
    tables = book()
    lines = zip(tables.table("lines")["section"].values, tables.table("lines")["cost"].values, strict=True)
    sums = dict.fromkeys(SECTIONS, D(0))
    for section, cost in lines:
        sums[str(section)] += number(cost)
    assert tables.table("sections")["sum"].values == tuple(sums.values())


@pytest.mark.parametrize(
    "engine",
    ["ironcalc", "gnumeric", pytest.param("libreoffice", marks=pytest.mark.libreoffice)],
)
def test_every_engine_tells_them_apart(engine: Engine, tmp_path: Path) -> None:
    path = tmp_path / "names.xlsx"
    path.write_bytes(workbook_bytes(book(), {"job_id": "1", "title": "Names"}, "letter"))
    assert [str(p) for p in compare_with(book(), recalculated(path, engine))] == []
