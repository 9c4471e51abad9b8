"""The delivered workbook of an example in a spreadsheet program, an input changed as the office would."""

import tempfile
from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import Decimal as D
from functools import cached_property
from pathlib import Path

import ironcalc

from estimator.calc.expressions import Field, Value
from estimator.calc.tables import Book, FieldAddresses, input_cells
from estimator.catalogue.labour import STANDING
from estimator.catalogue.records import Catalogue
from estimator.core.money import rounded
from estimator.workbook.build import workbook_bytes
from estimator.workbook.control import completed

EXAMPLES = Path(__file__).parents[2] / "examples"
PART = D("1.07")


@dataclass(frozen=True)
class Change:
    """One input changed."""

    key: str
    field: Field
    index: int
    value: Value


def other(field: Field, index: int) -> Value:
    """Return another value that an input takes; None for an empty one, and for keys picked from a list."""
    value = field.values[index]
    if field.choices:
        return next((c for c in field.choices if c != value), None)
    if not isinstance(value, D):
        return f"{value} (changed)" if isinstance(value, str) and value and not field.picks else None
    whole = field.whole or (field.unit in {"", "day"} and value == value.to_integral())
    new = value + 1 if whole else value * PART if value else D("0.5")
    low, high = field.low, field.high
    if isinstance(high, D) and new > high:
        new = value - (value - (low if isinstance(low, D) else 0)) / 2
    return None if new == value else new


def changes(book: Book) -> Iterator[Change]:
    """Yield a change of every input that is filled in."""
    for key, field, index in input_cells(book):
        if field.kind == "input" and index < len(field.values):
            value = other(field, index)
            if value is not None:
                yield Change(key, field, index, value)


class Office:
    """A book in a spreadsheet program; each change takes back the one before."""

    def __init__(self, book: Book) -> None:
        self.book, self.placement = book, FieldAddresses(completed(book))
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "book.xlsx"
            path.write_bytes(workbook_bytes(book, {"job_id": "1", "title": "t"}, "letter"))
            self.model = ironcalc.load_from_xlsx(str(path), "en", "UTC", "en")
        self.sheets = [s["name"] for s in self.model.get_worksheets_properties()]
        self._changed: Change | None = None

    @cached_property
    def inputs(self) -> dict[str, tuple[Field, int]]:
        return {key: (field, index) for key, field, index in input_cells(self.book)}

    def put(self, change: Change) -> None:
        """Make one change to the workbook as delivered, and recalculate."""
        if was := self._changed:
            self._type(was.field, was.index, was.field.values[was.index])
        self._type(change.field, change.index, change.value)
        self._changed = change
        self.model.evaluate()

    def change(self, key: str, value: Value) -> None:
        self.put(Change(key, *self.inputs[key], value))

    def _type(self, field: Field, index: int, value: Value) -> None:
        sheet, row, column = self.placement.cell(field, index)
        at = self.sheets.index(sheet)
        if isinstance(value, D):
            self.model.update_cell_with_number(at, row, column, float(value))
        else:
            self.model.update_cell_with_text(at, row, column, str(value or ""))

    def value(self, field: Field, index: int = 0) -> object:
        sheet, row, column = self.placement.cell(field, index)
        return self.model.get_cell_value(self.sheets.index(sheet), row, column)

    def values(self, field: Field) -> list[object]:
        return [self.value(field, i) for i in range(len(field.values))]

    def looks(self) -> list[str]:
        """Return the checks that say something other than 'ok'."""
        checks = self.book.table("checks")
        said = zip(checks["key"].values, self.values(checks["verdict"]), strict=True)
        return [str(key) for key, verdict in said if verdict != "ok"]


def same(ours: Value, theirs: object) -> bool:
    """Return whether a cell shows a figure, numbers to six places."""
    if isinstance(ours, D):
        number = isinstance(theirs, int | float) or not theirs
        return number and abs(rounded(ours, 6) - rounded(float(str(theirs or 0)), 6)) <= D("0.000001")
    return (ours or "") == (theirs or "")


def without_days(catalogue: Catalogue) -> Catalogue:
    """Return a catalogue whose labour does not follow the day plan: one trip a job, and nobody stands by."""
    book = catalogue.labour
    once = {"daily": False, "driver": "job"}
    tasks = tuple(
        t.model_copy(update=once if t.daily else {"done": t.driver != STANDING}) for t in book.tasks
    )
    update = {"tasks": tasks, "by_key": {t.key: t for t in tasks}}
    return replace(catalogue, labour=book.model_copy(update=update))
