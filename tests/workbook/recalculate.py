"""Let another program work the formulas out: the engines that the workbook is checked against."""

import math
import shutil
import subprocess
import tempfile
from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path
from typing import Literal

from estimator.calc.expressions import Field
from estimator.calc.tables import Book, FieldAddresses, Table, input_key, padded, row_keys
from estimator.core.errors import OutputError, Problem
from estimator.intake.cells import cells_of
from estimator.workbook.validation import serial

Engine = Literal["libreoffice", "ironcalc", "gnumeric"]
Found = Decimal | str | bool | None
Cells = dict[tuple[str, int, int], Found]
CLOSE = 1e-9
FIX = "This is a fault of battenbook; keep the workbook and report it."
PATIENCE_SECONDS = 300
_PROFILE = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry">
<item oor:path="/org.openoffice.Office.Calc/Formula/Load"><prop oor:name="OOXMLRecalcMode" oor:op="fuse">
<value>0</value></prop></item></oor:items>
"""


def office() -> str | None:
    """Return the path of LibreOffice's program, None where there is none."""
    return shutil.which("soffice") or shutil.which("libreoffice")


def run(command: list[str]) -> str:
    """Run a program and return what it says of errors; a machine that is too slow ends it."""
    try:
        done = subprocess.run(command, capture_output=True, timeout=PATIENCE_SECONDS, check=False)
    except subprocess.TimeoutExpired:
        return f"no answer within {PATIENCE_SECONDS} s"
    return done.stderr.decode(errors="replace").strip()[-300:]


def resaved(paths: Sequence[Path], folder: Path, form: str = "xlsx") -> list[Path]:
    """Let LibreOffice open workbooks, recalculate every formula, and save them in `folder`.

    It gets a profile of its own that says 'always recalculate'; otherwise it believes the results it finds.

    Args:
        paths: the workbooks; their names must differ.
        folder: where the new files go.
        form: 'xlsx', or 'pdf' for pages.

    Raises:
        OutputError: no LibreOffice, or it did not save a file.
    """
    if not paths:
        return []
    program = office()
    if program is None:
        fix = "Install LibreOffice Calc."
        raise OutputError([Problem("soffice", "LibreOffice is not on this machine", fix)])
    with tempfile.TemporaryDirectory() as profile:
        user = Path(profile) / "user"
        user.mkdir()
        (user / "registrymodifications.xcu").write_text(_PROFILE, encoding="utf-8")
        home = f"-env:UserInstallation={Path(profile).as_uri()}"
        command = [program, "--headless", home, "--convert-to", form, "--outdir", str(folder)]
        command += [str(path) for path in paths]
        said = run(command)
    saved = [folder / f"{path.stem}.{form}" for path in paths]
    missing = [path for path in saved if not path.exists()]
    if missing:
        raise OutputError(
            [
                Problem(
                    str(missing[0]),
                    f"LibreOffice did not write it: {said}",
                    "Open the workbook there by hand.",
                )
            ]
        )
    return saved


def _libreoffice(paths: Sequence[Path]) -> list[Cells]:
    with tempfile.TemporaryDirectory() as folder:
        return [_read(path) for path in resaved(paths, Path(folder))]


def _read(path: Path) -> Cells:
    """Return every filled cell of a saved workbook."""
    sheets = cells_of(path).sheets
    return {(title, *place): cell.value for title, cells in sheets.items() for place, cell in cells.items()}


def gnumeric() -> str | None:
    """Return the path of Gnumeric's converter, None where there is none."""
    return shutil.which("ssconvert")


def _gnumeric(path: Path) -> Cells:
    program = gnumeric()
    if program is None:
        raise OutputError([Problem("ssconvert", "Gnumeric is not on this machine", "Install gnumeric.")])
    with tempfile.TemporaryDirectory() as folder:
        saved = Path(folder) / path.name
        said = run([program, "--recalc", "--export-type=Gnumeric_Excel:xlsx2", str(path), str(saved)])
        if not saved.exists():
            fix = "Open the workbook there by hand."
            raise OutputError([Problem(str(saved), f"Gnumeric did not write it: {said}", fix)])
        return _read(saved)


def _ironcalc(path: Path) -> Cells:
    import ironcalc  # noqa: PLC0415 - only a check needs it

    model = ironcalc.load_from_xlsx(str(path), "en", "UTC", "en")
    model.evaluate()
    titles = [s["name"] for s in model.get_worksheets_properties()]
    found: Cells = {}
    for sheet, row, column in model.get_all_cells():
        value = model.get_cell_value(sheet, row, column)
        found[titles[sheet], row, column] = Decimal(repr(value)) if isinstance(value, float) else value
    return found


def recalculated_all(paths: Sequence[Path], engine: Engine) -> list[Cells]:
    """Return, for each workbook, what `engine` makes of every filled cell, by (sheet, row, column).

    Raises:
        OutputError: the engine is missing or refuses a workbook.
    """
    if engine == "libreoffice":
        return _libreoffice(paths)
    return [_gnumeric(path) if engine == "gnumeric" else _ironcalc(path) for path in paths]


def recalculated(path: Path, engine: Engine) -> Cells:
    """Return what `engine` makes of every filled cell of one workbook, by (sheet, row, column)."""
    return recalculated_all([path], engine)[0]


def _agrees(ours: object, found: Found) -> bool:
    if isinstance(ours, str):
        return ours == ("" if found is None else found)
    if isinstance(found, str):
        return False
    number = 0 if ours is None else serial(ours) if hasattr(ours, "year") else ours  # type: ignore[arg-type]
    return math.isclose(float(number), float(found or 0), rel_tol=CLOSE, abs_tol=CLOSE)  # type: ignore[arg-type]


def _field_problems(table: Table, field: Field, placement: FieldAddresses, values: Cells) -> list[Problem]:
    found = []
    for index, (row, ours) in enumerate(zip(row_keys(table), field.values, strict=False)):
        theirs = values.get(placement.cell(field, index))
        if not _agrees(ours, theirs):
            where = input_key(table.key, field.key, row)
            found.append(Problem(where, f"is {ours} here and {theirs} in the spreadsheet", FIX))
    return found


def compare_with(book: Book, values: Cells) -> tuple[Problem, ...]:
    """Return every formula whose value in a spreadsheet program differs from ours; () when all agree.

    Args:
        book: what was written.
        values: what `recalculated` returned.
    """
    placement = FieldAddresses(book)
    tables = [padded(t) for s in book.sheets for t in s.tables]
    return tuple(
        problem
        for table in tables
        for field in table.fields
        if field.exprs
        for problem in _field_problems(table, field, placement, values)
    )
