"""What the writer adds: contents with links, the inputs as issued, the legend on the first sheet."""

from collections.abc import Iterable, Mapping
from dataclasses import replace

from estimator.calc.tables import Book, Draft, FieldAddresses, Sheet, input_cells
from estimator.workbook.desk import SheetDesk
from estimator.workbook.sheets import CONTENTS, ROLES, link
from estimator.workbook.styles import dress
from estimator.workbook.written import written

ISSUED = "As issued"
ISSUED_TABLE = "issued"
LEGEND = (
    ("input", "12.50", "A cell to change: framed, with a light fill. It says what it accepts."),
    ("formula", "12.50", "Worked out from other cells; locked, and follows at once."),
    ("value", "12.50", "Decided by the program (a layout, a cutting plan); locked."),
    ("strong", "12.50", "A total."),
    ("formula", "ok", "A check that holds. A check that says 'look' needs a person."),
)


def contents(sheets: tuple[Sheet, ...]) -> Sheet:
    """Return the sheet that lists those that are seen; its titles become links as it is written."""
    draft = Draft("contents", "Sheets of this workbook")
    draft.keys([s.title for s in sheets])
    draft.label("sheet", "Sheet", [s.title for s in sheets])
    draft.label("role", "What it is", [ROLES[s.role].partition(":")[0] for s in sheets])
    draft.label("purpose", "What it is for", [s.purpose for s in sheets])
    return Sheet(CONTENTS, "control", "Every sheet, with a link to it.", (draft.table(),))


def issued(book: Book) -> Sheet:
    """Return the hidden sheet that keeps every input as it was when the workbook was written.

    It tells what the office changed from what the job changed since.
    """
    cells = [(key, f, f.values[i] if i < len(f.values) else None) for key, f, i in input_cells(book)]
    draft = Draft(ISSUED_TABLE, "Inputs when this workbook was written")
    draft.keys([key for key, _, _ in cells])
    draft.label("label", "Input", [field.label for _, field, _ in cells])
    draft.decided("value", "Value", "", [value for _, _, value in cells], places=4)
    purpose = "Kept so that changes can be told apart from what was delivered."
    return Sheet(ISSUED, "control", purpose, (draft.table(),), hidden=True)


def completed(book: Book) -> Book:
    """Return the book with its contents behind the first sheet and the inputs as issued at the end."""
    first, rest = book.sheets[:1], book.sheets[1:]
    seen = tuple(sheet for sheet in book.sheets if not sheet.hidden)
    return replace(book, sheets=(*first, contents(seen), *rest, issued(book)))


def with_codes(book: Book, texts: Iterable[str], properties: Mapping[str, str]) -> Sheet:
    """Return the last sheet of a completed book with the codes of all that is written, once it is known."""
    last = book.sheets[-1]
    return replace(last, tables=(*last.tables, written(Book(book.sheets[:-1]), texts, properties)))


def write_links(desk: SheetDesk, sheet: Sheet, placement: FieldAddresses) -> None:
    """Turn the titles on the contents sheet into links."""
    for index, title in enumerate(sheet.tables[0]["sheet"].values):
        _, row, column = placement.cell(sheet.tables[0]["sheet"], index)
        dress(desk.sheet.cell(row, column), desk.styles.of("listed"))
        link(desk.sheet, row, column, str(title))


def write_legend(desk: SheetDesk, row: int) -> int:
    """Write what the looks of cells mean, from `row` on; returns the last row used."""
    desk.write(row, 2, "How to read the cells", desk.styles.of("table"))
    for look, sample, meaning in LEGEND:
        row += 1
        style = desk.styles.of(look if look != "input" else "input sample", side="center")
        desk.write(row, 2, sample, style)
        desk.later.append((row, (3, max(desk.last, 3)), meaning, "purpose"))
    return row
