"""What stands in a returned workbook and is not taken: formulas typed over, words changed, notes added."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping

from estimator.calc.expressions import Value
from estimator.core.characters import escaped
from estimator.core.errors import Problem
from estimator.intake.cells import Cell, FilledCells, Place
from estimator.workbook.found import KeyedRow, Sheets, address
from estimator.workbook.parted import listed
from estimator.workbook.written import Codes

LONGEST_SHOWN = 40
FIX_ADDED = "Rows of your own go into the empty framed rows of a list; keep notes elsewhere."
UNDO = "Undo it there, or type what you want into an input; --leave-overwritten goes on without it."


def _shown(cell: Cell) -> str:
    value = cell.value
    return f"'{escaped(value, LONGEST_SHOWN)}'" if isinstance(value, str) else str(value)


def _said(cell: Cell) -> str:
    return "emptied" if cell.value is None else f"overwritten with {_shown(cell)}"


def overwritten(rows: Iterable[KeyedRow], codes: Codes) -> Iterator[Problem]:
    """Yield each formula that is one no longer, and each row with another figure than the program decided."""
    for row in rows:
        for head, (_, cell) in row.cells.items():
            if codes.is_formula(row, head) and not cell.is_formula:
                yield Problem(row.address(head), f"a formula was {_said(cell)}; not taken", UNDO)
        if not codes.keeps(row, "value"):
            held = ", ".join(
                f"{row.address(h)} {_shown(c)}" for h, (_, c) in row.cells.items() if codes.is_value(row, h)
            )
            what = f"a figure that the program decided was typed over or emptied; not taken ({held})"
            yield Problem(row.where, what[:200], UNDO)


def changed_words(rows: Iterable[KeyedRow], codes: Codes) -> Iterator[Problem]:
    """Yield each table in which words were typed over, as a warning."""
    found: dict[str, list[KeyedRow]] = defaultdict(list)
    for row in rows:
        if not codes.keeps(row, "label"):
            found[row.table].append(row)
    for changed in found.values():
        what = "words that the program writes were changed; not taken"
        yield Problem(listed(r.where for r in changed), what, "", severity="warning")


def added(sheets: Sheets, rows: Iterable[KeyedRow], codes: Codes) -> Iterator[Problem]:
    """Yield what each sheet holds beside what was written: notes, rows, columns, as a warning."""
    ours: dict[str, set[Place]] = defaultdict(set)
    for row in rows:
        ours[row.sheet] |= {(row.number, column) for column, _ in row.cells.values()}
        ours[row.sheet].add((row.number, row.column))
    for sheet, cells in sheets.items():
        new = _new(cells, ours[sheet], codes)
        if new:
            said = listed(f"{address(sheet, place)} {_shown(cell)}" for place, cell in new.items())
            yield Problem(said, "was added in the workbook; not taken", FIX_ADDED, severity="warning")


def pinned(filled: FilledCells) -> Iterator[Problem]:
    """Yield notes pinned to cells, and pictures, as warnings: the program writes neither."""
    if filled.comments:
        said = listed(f"{place} {_shown(Cell(text))}" for place, text in filled.comments.items())
        yield Problem(
            said, "is a note pinned to a cell; not taken", "Keep notes elsewhere.", severity="warning"
        )
    if filled.pictures:
        yield Problem(
            "pictures", "were added in the workbook; not taken", "Keep them elsewhere.", severity="warning"
        )


def _new(cells: Mapping[Place, Cell], ours: set[Place], codes: Codes) -> dict[Place, Cell]:
    return {
        place: cell
        for place, cell in sorted(cells.items())
        if place not in ours and not codes.is_text(cell.value) and cell.value not in {None, ""}
    }


def results_moved(rows: Iterable[KeyedRow], codes: Codes) -> dict[str, Value | bool]:
    """Return the last results of forms' formulas, by key, where they are not as they were written.

    A file that was not calculated again brings none.
    """
    return {
        row.input_key(head): cell.value
        for row in rows
        if row.across
        for head, (_, cell) in row.cells.items()
        if cell.is_formula and cell.value is not None and codes.moved(row.input_key(head), cell.value)
    }


def looks(rows: Iterable[KeyedRow]) -> bool:
    """Return whether a check said 'look' when the file was last calculated."""
    return any(cell.is_formula and cell.value == "look" for row in rows for _, cell in row.cells.values())
