"""Write a `Book` as a workbook: one file that opens in any spreadsheet program, the same bytes twice.

The finishing pass puts results beside formulas: a formula without its result shows as blank in previewers
and in whatever reads the file without a spreadsheet program. Source of the cell's form: ISO/IEC 29500-1,
18.3.1.4 (c) and 18.3.1.96 (v).
"""

import datetime as dt
import io
import posixpath
import re
import zipfile
from collections.abc import Mapping
from decimal import Decimal
from typing import Any
from xml.sax.saxutils import escape

from openpyxl import Workbook
from openpyxl.packaging.custom import CustomPropertyList, StringProperty
from openpyxl.workbook.defined_name import DefinedName
from openpyxl.worksheet.worksheet import Worksheet

from estimator.calc.expressions import Value
from estimator.calc.formulas import Renderer
from estimator.calc.tables import Book, FieldAddresses, Sheet, absolute, quoted
from estimator.core.errors import refuse_all
from estimator.workbook.charts import draw
from estimator.workbook.control import completed, with_codes, write_legend, write_links
from estimator.workbook.desk import SheetDesk
from estimator.workbook.pages import Paper, protect, set_paper, set_print, set_view
from estimator.workbook.sheets import CONTENTS, write_sheet
from estimator.workbook.styles import Styles, set_plain
from estimator.workbook.texts import escaped, names, problems, text_problems
from estimator.workbook.validation import serial

Results = Mapping[str, Value | bool]
ZIP_DATE = (1980, 1, 1, 0, 0, 0)
_CELL = re.compile(r'<c r="([A-Z]+[0-9]+)"([^>]*)><f>(.*?)</f><v\s*(?:/>|></v>)</c>', re.DOTALL)
_TARGET = re.compile(r'Target="(/[^"]*)"')
_STAMP = re.compile(r"(<dcterms:(created|modified)[^>]*>)[^<]*(</dcterms:\2>)")


def _cached(value: Value | bool) -> tuple[str, str]:  # noqa: FBT001 - a cell's value
    if value is None:
        return "", "0"
    if isinstance(value, bool):
        return ' t="b"', str(int(value))
    if isinstance(value, str):
        return ' t="str"', escape(escaped(value))
    if isinstance(value, dt.date):
        return "", str(serial(value))
    if value == value.to_integral_value() and abs(value) < Decimal(2**53):
        return "", str(int(value))
    return "", repr(float(value))


def with_results(xml: str, results: Results) -> str:
    """Return a sheet's XML with the result of every formula in its cell.

    Raises:
        KeyError: a formula without a result.
    """

    def fill(match: re.Match[str]) -> str:
        address, attributes, formula = match.groups()
        kind, value = _cached(results[address])
        return f'<c r="{address}"{attributes}{kind}><f>{formula}</f><v>{value}</v></c>'

    return _CELL.sub(fill, xml)


def _relative(name: str, xml: str) -> str:
    base = posixpath.dirname(posixpath.dirname(name)) or "."
    return _TARGET.sub(lambda m: f'Target="{posixpath.relpath(m[1].lstrip("/"), base)}"', xml)


def finished(raw: bytes, results: Mapping[str, Results], stamp: str) -> bytes:
    """Return the workbook `raw` with every formula's result, and nothing that differs between two runs.

    Args:
        raw: the file as openpyxl wrote it.
        results: by part name (``xl/worksheets/sheet1.xml``), what each formula cell shows.
        stamp: date and time to note as made, ``2026-01-31T00:00:00Z``.
    """
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(raw)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            part = old.read(name)
            if name in results:
                part = with_results(part.decode(), results[name]).encode()
            elif name.endswith(".rels"):
                part = _relative(name, part.decode()).encode()
            elif name == "docProps/core.xml":
                part = _STAMP.sub(rf"\g<1>{stamp}\g<3>", part.decode()).encode()
            info = zipfile.ZipInfo(name, ZIP_DATE)
            info.compress_type, info.create_system, info.external_attr = zipfile.ZIP_DEFLATED, 0, 0
            new.writestr(info, part, compresslevel=6)
    return out.getvalue()


SCHEMA = "2"
NO_DATE = "2000-01-01"


def _define_names(workbook: Workbook, placement: FieldAddresses, book: Book) -> None:
    known = set(names(book))
    for spot in placement.spots.values():
        if spot.table.orientation != "across" or spot.table.count != 1:
            continue
        for field in (f for f in spot.table.fields if f.key in known):
            sheet, row, column = placement.cell(field, 0)
            target = f"{quoted(sheet)}!{absolute(row, column)}"
            workbook.defined_names[field.key] = DefinedName(field.key, attr_text=target)


def _write(
    sheet: Worksheet, plan: Sheet, placement: FieldAddresses, styles: Styles, look: tuple[str, Paper]
) -> SheetDesk:
    desk = SheetDesk(sheet, styles, Renderer(placement, plan.title))
    bottom = write_sheet(desk, plan, placement)
    spots = [placement.spots[t.key] for t in plan.tables]
    set_view(sheet, spots)
    protect(sheet)
    if plan.title == CONTENTS:
        write_links(desk, plan, placement)
    if sheet.parent is not None and sheet is sheet.parent.worksheets[0]:
        bottom = write_legend(desk, bottom + 2)
        desk.finish_later()
    set_paper(sheet, *look)
    if plan.hidden:
        sheet.sheet_state = "hidden"
        return desk
    drawn = draw(sheet, plan.charts, placement, bottom + 2)
    set_print(sheet, spots, desk.fit, bottom, drawn)
    return desk


def workbook_bytes(book: Book, properties: Mapping[str, str], paper: Paper) -> bytes:
    """Return the file of a workbook; the same bytes for the same arguments.

    Args:
        book: what it shows.
        properties: kept as custom properties (``job_id`` finds the job again); ``title`` heads every
            page, ``date`` (ISO) is noted as the day it was made.
        paper: what the office prints on.

    Raises:
        InputError: text, numbers, titles or names that no workbook can hold.
    """
    full = completed(book)
    refuse_all([*problems(full), *(p for k, v in properties.items() for p in text_problems(k, v))])
    workbook, placement = Workbook(), FieldAddresses(full)
    workbook.remove(workbook.worksheets[0])
    set_plain(workbook)
    sheets = [workbook.create_sheet(plan.title) for plan in full.sheets]
    styles, look = Styles(sheets[0]), (properties.get("title", ""), paper)
    desks = [_write(s, p, placement, styles, look) for s, p in zip(sheets[:-1], full.sheets, strict=False)]
    texts = (text for desk in desks for text in desk.texts)
    kept = with_codes(full, texts, {"schema": SCHEMA, **properties})
    desks.append(_write(sheets[-1], kept, FieldAddresses(Book((kept,))), styles, look))
    _define_names(workbook, placement, book)
    _note(workbook, properties)
    raw = io.BytesIO()
    workbook.save(raw)
    results: dict[str, Results] = {
        f"xl/worksheets/sheet{i}.xml": desk.results for i, desk in enumerate(desks, start=1)
    }
    return finished(raw.getvalue(), results, f"{properties.get('date', NO_DATE)}T00:00:00Z")


def _note(workbook: Workbook, properties: Mapping[str, str]) -> None:
    kept: CustomPropertyList[Any] = getattr(workbook, "custom_doc_props")  # noqa: B009 - its stubs lack it
    workbook.calculation.fullCalcOnLoad = True
    workbook.properties.creator = "battenbook"
    workbook.properties.title = properties.get("title", "")
    for name, value in {"schema": SCHEMA, **properties}.items():
        kept.append(StringProperty(name=name, value=value))
