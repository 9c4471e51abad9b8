"""Write a `Book` as a workbook: one file that opens in any spreadsheet program."""

import io
from collections.abc import Mapping
from typing import Any

from openpyxl import Workbook
from openpyxl.packaging.custom import CustomPropertyList, StringProperty
from openpyxl.workbook.defined_name import DefinedName
from openpyxl.worksheet.worksheet import Worksheet

from estimator.calc.formulas import Renderer
from estimator.calc.tables import Book, FieldAddresses, Sheet, absolute, quoted
from estimator.core.errors import refuse_all
from estimator.workbook.charts import draw
from estimator.workbook.control import completed, with_codes, write_legend, write_links
from estimator.workbook.desk import SheetDesk
from estimator.workbook.pages import Paper, protect, set_paper, set_print, set_view
from estimator.workbook.sheets import CONTENTS, write_sheet
from estimator.workbook.styles import Styles, set_plain
from estimator.workbook.texts import names, problems, text_problems
from estimator.workbook.values import Results, finished

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
