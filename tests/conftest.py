"""What tests share: programs outside Python that may be missing, and a spreadsheet that computes tables.

Tests that need a program skip with their reason where it is missing; never in CI.
"""

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # a worker for each core is enough; read when numpy loads

import shutil
import signal
import tempfile
from collections.abc import Callable, Iterator, Mapping
from decimal import Decimal
from pathlib import Path
from typing import Any

import ironcalc
import pytest
from hypothesis import settings

from estimator.calc.expressions import Field
from estimator.calc.formulas import Renderer
from estimator.calc.tables import Book, FieldAddresses, Role, Sheet, Table
from estimator.documents import files
from estimator.workbook.build import workbook_bytes
from tests.remembered import plans_in, remembered

settings.register_profile("house", deadline=None)  # no test has a limit of time
settings.load_profile("house")
if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:  # started in the background: programs inherit deaf ears
    signal.signal(signal.SIGINT, signal.default_int_handler)

PROGRAMS = {
    "libreoffice": ("soffice", "libreoffice"),
    "chromium": ("chromium", "chromium-browser", "google-chrome"),
}


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for marker, commands in PROGRAMS.items():
        if os.environ.get("CI") or any(shutil.which(c) for c in commands):
            continue
        skip = pytest.mark.skip(reason=f"{marker} is not installed here")
        for item in items:
            if item.get_closest_marker(marker):
                item.add_marker(skip)


@pytest.fixture
def quick_path(tmp_path: Path) -> Iterator[Path]:
    """Return a folder in memory where the system has one: for tests that wait for the disk very often."""
    memory = Path("/dev/shm")  # noqa: S108 - only a faster place for a folder of random name
    if not os.access(memory, os.W_OK):
        yield tmp_path
        return
    with tempfile.TemporaryDirectory(dir=memory) as folder:
        yield Path(folder)


@pytest.fixture(scope="session")
def shared(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder that all workers of a session share."""
    own = tmp_path_factory.getbasetemp()
    return own.parent if "PYTEST_XDIST_WORKER" in os.environ else own


@pytest.fixture(scope="session", autouse=True)
def _once(shared: Path) -> Iterator[None]:
    """Make every cutting plan of a room, and every workbook, once, whichever worker asks first."""
    with pytest.MonkeyPatch.context() as patch:
        plans_in(shared, patch.setattr)
        patch.setattr(files, "workbook_bytes", remembered(workbook_bytes, shared / "workbooks"))
        yield


Cell = tuple[str, str, int]
Recalculate = Callable[..., dict[Cell, Any]]


def sheets_of(roles: Mapping[Role, tuple[Table, ...]]) -> Book:
    return Book(tuple(Sheet(role.capitalize(), role, "", tables) for role, tables in roles.items()))


def fill(model: Any, place: FieldAddresses, field: Field, index: int, value: object) -> None:
    sheet, row, column = place.cell(field, index)
    number = [s["name"] for s in model.get_worksheets_properties()].index(sheet)
    if field.kind in {"formula", "each"}:
        expr = field.exprs[0 if field.kind == "formula" else index]
        text = Renderer(place, sheet).formula(expr, index)
        assert len(text) <= 120, text
        model.set_user_input(number, row, column, text)
    elif isinstance(value, Decimal):
        model.update_cell_with_number(number, row, column, float(value))
    elif value is not None:
        model.update_cell_with_text(number, row, column, str(value))


def build(book: Book, changes: Mapping[Cell, Any]) -> tuple[Any, FieldAddresses]:
    model, place = ironcalc.create("book", "en", "UTC", "en"), FieldAddresses(book)
    for number, sheet in enumerate(book.sheets):
        if number:
            model.add_sheet(sheet.title)
        else:
            model.rename_sheet(0, sheet.title)
    fields = [field for sheet in book.sheets for table in sheet.tables for field in table.fields]
    for field in fields:
        if place.is_named(field):
            sheet_title, row, column = place.cell(field, 0)
            reference = f"{sheet_title}!${ironcalc.column_name_from_number(column)}${row}"
            model.new_defined_name(field.key, None, reference)
    for field in fields:
        for index, value in enumerate(field.values):
            fill(model, place, field, index, changes.get((field.table, field.key, index), value))
    model.evaluate()
    return model, place


@pytest.fixture
def recalculate() -> Recalculate:
    """Return a function that fills a spreadsheet with tables by role and returns every cell computed."""

    def run(
        roles: Mapping[Role, tuple[Table, ...]], changes: Mapping[Cell, Any] | None = None
    ) -> dict[Cell, Any]:
        book = sheets_of(roles)
        model, place = build(book, changes or {})
        titles = [sheet.title for sheet in book.sheets]
        found: dict[Cell, Any] = {}
        for sheet in book.sheets:
            for table in sheet.tables:
                for field in table.fields:
                    for index in range(len(field.values)):
                        title, row, column = place.cell(field, index)
                        value = model.get_cell_value(titles.index(title), row, column)
                        found[table.key, field.key, index] = value
        return found

    return run
