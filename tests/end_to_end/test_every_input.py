"""Every input of the workbook, changed one by one: each figure is then a fresh run's, or a check says 'look'.

One cell of each column of inputs, in the fullest example and the metric one: nothing is wrong in silence.
"""

import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from pathlib import Path

import ironcalc
import pytest

from estimator.calc.expressions import Value
from estimator.calc.keys import input_cells
from estimator.calc.placement import Placement
from estimator.calc.tables import Book, Field, Table
from estimator.catalogue.load import load
from estimator.catalogue.records import Catalogue
from estimator.core.errors import InputError
from estimator.core.money import rounded
from estimator.job.description import Job
from estimator.pipeline import estimate
from estimator.tables.book import book_of
from estimator.workbook.build import workbook_bytes
from estimator.workbook.control import completed

D = Decimal
EXAMPLES = Path(__file__).parents[2] / "examples"
AS_IT_GOES = {"actual_hours", "actual_costs", "invoices"}
CONTROL = {"checks", "master", "as_run", "as_run_choices", "days_as_run", "bindings"}
DECIDED = {"schedule": ("plan_days", "plan_shop_days", "plan_site_days", "plan_visits")}
"""What only the program finds, by table: where it moves a check says 'look', as no formula follows."""
PART = D("1.07")


@dataclass(frozen=True)
class Change:
    """One input changed."""

    key: str
    field: Field
    index: int
    value: Value


@cache
def described(name: str) -> tuple[Job, Catalogue]:
    """Return an example whose visits are agreed; else the day plan decides them too."""
    job, catalogue, _ = load(EXAMPLES / name / "job.toml")
    header = job.header.model_copy(update={"visits": job.header.visits or 3})
    return job.model_copy(update={"header": header}), catalogue


def other(field: Field, index: int) -> Value:
    """Return another value that the input takes; None where there is none."""
    value = field.values[index]
    if field.choices:
        return next((c for c in field.choices if c != value), None)
    if not isinstance(value, D):
        return None
    whole = field.whole or (field.unit in {"", "day"} and value == value.to_integral())
    new = value + 1 if whole else value * PART if value else D("0.5")
    low, high = field.low, field.high
    if isinstance(high, D) and new > high:
        new = value - (value - (low if isinstance(low, D) else 0)) / 2
    return None if new == value else new


def changes(book: Book) -> Iterator[Change]:
    seen = set()
    for key, field, index in input_cells(book):
        column = (field.table, field.key)
        if field.kind != "input" or field.table in AS_IT_GOES or column in seen or index >= len(field.values):
            continue
        value = other(field, index)
        if value is not None:
            seen.add(column)
            yield Change(key, field, index, value)


class Office:
    """The delivered workbook in another program."""

    def __init__(self, book: Book) -> None:
        self.book, self.placement = book, Placement(completed(book))
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "book.xlsx"
            path.write_bytes(workbook_bytes(book, {"job_id": "1", "title": "t"}, "letter"))
            self.model = ironcalc.load_from_xlsx(str(path), "en", "UTC", "en")
        self.sheets = [s["name"] for s in self.model.get_worksheets_properties()]

    def put(self, field: Field, index: int, value: Value) -> None:
        sheet, row, column = self.placement.cell(field, index)
        at = self.sheets.index(sheet)
        if isinstance(value, str):
            self.model.update_cell_with_text(at, row, column, value)
        else:
            self.model.update_cell_with_number(at, row, column, float(str(value)))

    def value(self, field: Field, index: int) -> object:
        sheet, row, column = self.placement.cell(field, index)
        return self.model.get_cell_value(self.sheets.index(sheet), row, column)

    def looks(self) -> list[str]:
        checks = self.book.table("checks")
        keys = enumerate(checks["key"].values)
        return [str(key) for i, key in keys if self.value(checks["verdict"], i) != "ok"]

    def follows(self, fresh: Book) -> bool:
        """Return whether every figure is that of a fresh run, each table of the same shape."""
        return all(
            self._same(table, fresh)
            for s in self.book.sheets
            for table in s.tables
            if table.key not in CONTROL
        )

    def _same(self, table: Table, fresh: Book) -> bool:
        formulas = [f for f in table.fields if f.exprs or f.key in DECIDED.get(table.key, ())]
        if not formulas:
            return True
        new = fresh.table(table.key)
        return new.count == table.count and all(
            same(value, self.value(field, i))
            for field in formulas
            for i, value in enumerate(new[field.key].values)
        )


def same(ours: Value, theirs: object) -> bool:
    if isinstance(ours, D):
        number = isinstance(theirs, int | float) or not theirs
        return number and abs(rounded(ours, 6) - rounded(float(str(theirs or 0)), 6)) <= D("0.000001")
    return (ours or "") == (theirs or "")


@pytest.mark.parametrize(
    ("name", "least"), [pytest.param("chapel_annex", 35, marks=pytest.mark.slow), ("voice_booth", 60)]
)
def test_nothing_is_wrong_in_silence(name: str, least: int) -> None:
    job, catalogue = described(name)
    office = Office(book_of(estimate(job, catalogue)))
    silent, followed, refused = [], 0, []
    for change in changes(office.book):
        try:
            fresh = book_of(estimate(job, catalogue, {change.key: change.value}))
        except InputError:
            refused.append(change.key)
            continue
        office.put(change.field, change.index, change.value)
        office.model.evaluate()
        follows, looks = office.follows(fresh), office.looks()
        followed += follows and not looks
        if not follows and not looks:
            silent.append(f"{change.key} = {change.value}")
        office.put(change.field, change.index, change.field.values[change.index])
    assert silent == []
    assert len(refused) <= 1  # a tax on purchases that is worked out on the price cannot be
    assert followed >= least  # options follow prices, packs, wages, rates and terms, and nothing else
