"""What an office does to a workbook by hand: through openpyxl, or in LibreOffice by a macro of its own."""

import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from openpyxl import Workbook
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from estimator.calc.tables import TableSpot
from tests.workbook.recalculate import gnumeric, office, run

Deed = Callable[[Workbook], object]
_MODULE = """<?xml version="1.0" encoding="UTF-8"?>
<!DOCTYPE script:module PUBLIC "-//OpenOffice.org//DTD OfficeDocument 1.0//EN" "module.dtd">
<script:module xmlns:script="http://openoffice.org/2000/script" script:name="Module1"
 script:language="StarBasic">
Sub SortRows(source, target, title, area, field)
  Dim hidden(0) As New com.sun.star.beans.PropertyValue
  hidden(0).Name = "Hidden" : hidden(0).Value = True
  book = StarDesktop.loadComponentFromURL(source, "_blank", 0, hidden())
  sheet = book.Sheets.getByName(title)
  sheet.unprotect("")
  Dim by(0) As New com.sun.star.table.TableSortField
  by(0).Field = CInt(field) : by(0).IsAscending = False
  Dim how(1) As New com.sun.star.beans.PropertyValue
  how(0).Name = "SortFields" : how(0).Value = by()
  how(1).Name = "ContainsHeader" : how(1).Value = False
  sheet.getCellRangeByName(area).sort(how())
  book.calculateAll()
  Dim form(0) As New com.sun.star.beans.PropertyValue
  form(0).Name = "FilterName" : form(0).Value = "Calc MS Excel 2007 XML"
  book.storeToURL(target, form())
  book.close(True)
End Sub
</script:module>
"""


def put(sheet: str, cell: str, value: Any) -> Deed:
    def deed(book: Workbook) -> None:
        book[sheet][cell].value = value

    return deed


def sort_rows(sheet: Worksheet, rows: Sequence[int], columns: Sequence[int], by: int) -> None:
    """Sort some columns of some rows by one of them, the largest first, as a spreadsheet program does."""
    held = [[sheet.cell(row, c).value for c in columns] for row in rows]
    held.sort(key=lambda cells: cells[columns.index(by)], reverse=True)  # type: ignore[arg-type,return-value]
    for row, cells in zip(rows, held, strict=True):
        for column, value in zip(columns, cells, strict=True):
            sheet.cell(row, column).value = value


def sorting(spot: TableSpot, heads: Sequence[str], by: str) -> Deed:
    """Return the deed that sorts the own rows of a list, only those columns."""
    fields = [f.key for f in spot.table.fields]
    columns = [1 + spot.table.lead + fields.index(head) for head in heads]
    rows = range(spot.first, spot.first + spot.table.count)
    at = 1 + spot.table.lead + fields.index(by)
    return lambda book: sort_rows(book[spot.sheet], rows, columns, at)


def area_of(spot: TableSpot, first: str, last: str) -> str:
    """Return the cells of a list from one column to another."""
    fields = [f.key for f in spot.table.fields]
    a, b = (get_column_letter(1 + spot.table.lead + fields.index(head)) for head in (first, last))
    return f"{a}{spot.first}:{b}{spot.last}"


def sorted_in_libreoffice(path: Path, target: Path, sheet: str, area: str, field: int) -> Path:
    """Let LibreOffice take the sheet's protection off, sort an area by one of its columns, and save it."""
    with tempfile.TemporaryDirectory() as folder:
        call = [str(office()), "--headless", f"-env:UserInstallation={Path(folder).as_uri()}"]
        run([*call, "--terminate_after_init"])  # its first start writes a library of its own
        library = Path(folder) / "user" / "basic" / "Standard"
        (library / "Module1.xba").write_text(_MODULE, encoding="utf-8")
        words = ",".join(f'"{w}"' for w in (path.as_uri(), target.as_uri(), sheet, area, field))
        said = run([*call, f"macro:///Standard.Module1.SortRows({words})"])
    assert target.exists(), said
    return target


def saved_by_gnumeric(path: Path, folder: Path) -> Path:
    saved = folder / path.name
    said = run([str(gnumeric()), "--recalc", "--export-type=Gnumeric_Excel:xlsx2", str(path), str(saved)])
    assert saved.exists(), said
    return saved
