"""What stands in a returned workbook and is not taken: rows parted from their keys, or changed beside them.

Rows are parted where they were sorted without all of their columns, or one column was sorted alone; besides,
formulas are typed over, words changed and notes added.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal

from estimator.calc.expressions import Value
from estimator.core.characters import escaped
from estimator.core.errors import Problem
from estimator.intake.cells import Cell, FilledCells, Place
from estimator.workbook.found import KeyedRow, Sheets, address
from estimator.workbook.written import Codes

LONGEST_SHOWN = 40
FIX_ADDED = "Rows of your own go into the empty framed rows of a list; keep notes elsewhere."
UNDO_TYPING = "Undo it there, or type what you want into an input; --leave-overwritten goes on without it."
SHOWN, MIXED = 3, 3
"""Rows listed of many; different figures in other rows from which a column was sorted and not typed anew."""
UNDO_SORTING = "Undo the sorting there, or sort whole rows with their codes, and read it back again."


def listed(places: Iterable[str]) -> str:
    """Return the first of some places, and how many more there are."""
    every = list(places)
    more = len(every) - SHOWN
    return "; ".join(every[:SHOWN]) + (f" and {more} more" if more > 0 else "")


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
                yield Problem(row.address(head), f"a formula was {_said(cell)}; not taken", UNDO_TYPING)
        if not codes.keeps(row, "value"):
            held = ", ".join(
                f"{row.address(h)} {_shown(c)}" for h, (_, c) in row.cells.items() if codes.is_value(row, h)
            )
            what = f"a figure that the program decided was typed over or emptied; not taken ({held})"
            yield Problem(row.where, what[:200], UNDO_TYPING)


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


def mixed_rows(rows: Iterable[KeyedRow], codes: Codes) -> Iterator[Problem]:
    """Yield each table in which rows hold the words of other rows than their keys name."""
    found: dict[str, list[KeyedRow]] = defaultdict(list)
    for row in rows:
        if codes.has_words_of_another(row):
            found[row.table].append(row)
    for mixed in found.values():
        what = "other words stand beside these keys than were written: " + ", ".join(
            r.key for r in mixed[:SHOWN]
        )
        yield Problem(listed(row.where for row in mixed), what, UNDO_SORTING)


def sorted_columns(
    rows: Iterable[KeyedRow], was: Mapping[str, Value], now: Mapping[str, Value], codes: Codes
) -> Iterator[Problem]:
    """Yield each column of inputs that holds the same figures as when it was written, in other rows.

    Of two figures that changed places it is a warning: somebody may have mended what was wrong.
    Rows of a list without words, such as payment steps, may change places as a whole.
    """
    tables: dict[str, list[KeyedRow]] = defaultdict(list)
    for row in rows:
        if not row.across:
            tables[row.table].append(row)
    for table in tables.values():
        heads = [h for h in table[0].cells if any(r.input_key(h) in was for r in table)]
        before, after = ([[v.get(r.input_key(h)) for h in heads] for r in table] for v in (was, now))
        if not codes.names_rows(table[0]) and _alike(map(tuple, before), map(tuple, after)):
            continue
        for head, old, new in zip(heads, zip(*before, strict=True), zip(*after, strict=True), strict=True):
            yield from _sorted_column(table, head, old, new)


def _alike(before: Iterable[object], after: Iterable[object]) -> bool:
    return Counter(before) == Counter(after)


def _sorted_column(
    table: list[KeyedRow], head: str, old: tuple[Value, ...], new: tuple[Value, ...]
) -> Iterator[Problem]:
    moved = [(row, a, b) for row, a, b in zip(table, old, new, strict=True) if a != b]
    figures = {a for _, a, _ in moved if isinstance(a, Decimal)}
    if len(figures) > 1 and _alike((a for _, a, _ in moved), (b for *_, b in moved)):
        what = f"the same figures stand in other rows of {table[0].table}.{head}"
        few = len(figures) < MIXED
        fix = "See that each stands where it should." if few else UNDO_SORTING
        places = listed(row.address(head) for row, *_ in moved)
        yield Problem(places, what, fix, severity="warning" if few else "error")
