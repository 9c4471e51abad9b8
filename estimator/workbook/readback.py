"""Read the office's inputs out of a workbook by their keys, whatever was inserted, sorted or renamed in it.

Totals are never taken from the file: the inputs come back, and the program computes anew. What was written
is held against what came back; all that is not taken is named: rows parted from their keys (sorted without
all of their columns, or one column sorted alone), formulas typed over, words changed, notes added.
"""

import datetime as dt
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from pathlib import Path

from estimator.calc.expressions import Field, Value
from estimator.calc.tables import SPARE, Book, FieldAddresses, input_cells, written_by_office
from estimator.core.characters import escaped, hidden, named
from estimator.core.errors import InputError, Problem
from estimator.core.money import decimal
from estimator.intake.cells import Cell, FilledCells, Place
from estimator.intake.package import ASK
from estimator.workbook.build import SCHEMA
from estimator.workbook.control import ISSUED_TABLE
from estimator.workbook.found import KeyedRow, Sheets, address, rows_of
from estimator.workbook.shown import allowed, sort_of
from estimator.workbook.validation import EPOCH
from estimator.workbook.written import Codes, kept_in

LONGEST_SHOWN = 40
FIX_ADDED = "Rows of your own go into the empty framed rows of a list; keep notes elsewhere."
UNDO_TYPING = "Undo it there, or type what you want into an input; --leave-overwritten goes on without it."
SHOWN, MIXED = 3, 3
"""Rows listed of many; different figures in other rows from which a column was sorted and not typed anew."""
UNDO_SORTING = "Undo the sorting there, or sort whole rows with their codes, and read it back again."


@dataclass(frozen=True, slots=True)
class WorkbookReturn:
    """What a workbook brings back.

    Attributes:
        inputs: every input by key, as the office left it; a key whose row the job no longer has is kept.
        issued: the same inputs as they were when the workbook was written.
        properties: the workbook's own properties: ``job_id``, ``schema``.
        results: last results of forms' formulas, by key, where they are not as they were written.
        looks: whether a check in it said 'look' when it was last calculated.
        notes: warnings: what is not taken, and what to look at.
    """

    inputs: Mapping[str, Value]
    issued: Mapping[str, Value]
    properties: Mapping[str, str]
    results: Mapping[str, Value | bool]
    looks: bool
    notes: tuple[Problem, ...]


@dataclass(frozen=True, slots=True)
class _Keyed:
    """A cell found by its key, and where it stands now, as a person would say it."""

    cell: Cell
    where: str


def _found(rows: Iterable[KeyedRow]) -> tuple[dict[str, _Keyed], list[Problem]]:
    """Return every keyed cell, and a problem for each key that stands more than once."""
    pairs = [
        (row.input_key(head), _Keyed(cell, row.where))
        for row in rows
        for head, (_, cell) in row.cells.items()
    ]
    twice = {key for key, times in Counter(key for key, _ in pairs).items() if times > 1}
    problems = [
        Problem(key, "stands more than once: " + "; ".join(c.where for k, c in pairs if k == key), ASK)
        for key in sorted(twice)
    ]
    return dict(pairs), problems


def _as_date(value: Value | bool) -> Value:  # noqa: FBT001 - a cell's value
    if isinstance(value, Decimal) and value == value.to_integral_value() and 0 < value < 10**6:
        return EPOCH + dt.timedelta(days=int(value))
    if isinstance(value, str):
        try:
            return dt.date.fromisoformat(value[:10])
        except ValueError:
            return None
    return None


def _as_text(value: Value | bool) -> Value:  # noqa: FBT001
    if isinstance(value, Decimal):
        return f"{value.normalize():f}"
    return str(value)


def _converted(value: Value | bool, sort: str) -> Value:  # noqa: FBT001
    """Return a cell's value as a field of that sort holds it, None if it cannot."""
    if sort == "text":
        return _as_text(value)
    if sort == "date":
        return _as_date(value)
    return decimal(value) if isinstance(value, Decimal) else None


def _in_range(value: Value, field: Field) -> bool:
    if field.choices:
        return value in field.choices
    if isinstance(value, Decimal) and field.whole and value != value.to_integral_value():
        return False
    low, high = field.low, field.high
    above = low is None or value >= low  # type: ignore[operator]
    return above and (high is None or value <= high)  # type: ignore[operator]


def _fault(cell: Cell, field: Field, value: Value, *, needed: bool) -> str:
    """Return what is wrong with an input's cell, '' when nothing is."""
    if cell.is_error:
        return f"shows the error {cell.value}"
    if cell.value is None:
        empty = "is empty" if needed else ""
        return "holds a formula without a result" if cell.is_formula else empty
    if value is None:
        return f"holds {cell.value!r}, which is no {sort_of(field)}"
    if isinstance(cell.value, bool):
        return f"holds {str(cell.value).upper()}"
    if isinstance(value, str) and (unseen := hidden(value)):
        return named(unseen)
    return "" if _in_range(value, field) else f"is {value}, outside what is allowed"


def _checked(key: str, keyed: _Keyed, field: Field, *, needed: bool) -> tuple[Value, list[Problem]]:
    cell = keyed.cell
    value = None if cell.value is None or cell.is_error else _converted(cell.value, sort_of(field))
    fault = _fault(cell, field, value, needed=needed)
    if fault:
        where = f"{keyed.where}: {field.label} ({key})"
        return None, [Problem(where, fault, f"Allowed: {allowed(field)}.")]
    return value, []


def _plain(cell: Cell) -> Value:
    return None if isinstance(cell.value, bool) else cell.value


def _issued(found: Mapping[str, _Keyed]) -> dict[str, _Keyed]:
    head = f"{ISSUED_TABLE}.value."
    return {key.removeprefix(head): cell for key, cell in found.items() if key.startswith(head)}


def _read(
    found: Mapping[str, _Keyed], book: Book
) -> tuple[dict[str, Value], dict[str, Value], list[Problem]]:
    """Return the inputs as they came back and as they were issued, and what is wrong with them."""
    issued_cells, fields = _issued(found), {key: field for key, field, _ in input_cells(book)}
    inputs: dict[str, Value] = {}
    issued: dict[str, Value] = {}
    problems: list[Problem] = []
    if not issued_cells:
        problems.append(Problem("As issued", "the sheet with the inputs as issued is gone", ASK))
    gone = defaultdict[str, list[str]](list)
    for key, was in issued_cells.items():
        if key not in found:
            gone[key.partition(".")[0]].append(key)
            continue
        field = fields.get(key)
        if field is None:
            inputs[key], issued[key] = _plain(found[key].cell), _plain(was.cell)
            continue
        needed = not (field.optional or written_by_office(key.rpartition(".")[2]))
        value, wrong = _checked(key, found[key], field, needed=needed and was.cell.value is not None)
        inputs[key] = field.blank if value is None else value
        issued[key] = None if was.cell.value is None else _converted(was.cell.value, sort_of(field))
        problems += wrong
    what = "is no longer in the workbook: its row or column was deleted"
    return inputs, issued, [*problems, *(Problem(listed(keys), what, ASK) for keys in gone.values())]


def _pick_problems(inputs: Mapping[str, Value], book: Book) -> Iterator[Problem]:
    """Yield inputs that name a key which is not in the list they pick from."""
    for key, field, _ in input_cells(book):
        value = inputs.get(key)
        if field.picks is None or value is None:
            continue
        head, tail = f"{field.picks.table}.", f".{value}"
        rows = (v for k, v in inputs.items() if k.startswith(head) and k.endswith(tail))
        new = str(value).startswith(SPARE) and any(v is not None for v in rows)
        if value not in field.picks.values and not new:
            yield Problem(key, f"names {value}, which is not in the list", f"Allowed: {allowed(field)}.")


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


def _belongs(path: Path, properties: Mapping[str, str], job_id: str) -> None:
    """Refuse a workbook of another job, or of a program that this one does not know.

    Raises:
        InputError: it does not belong here.
    """
    own, schema = properties.get("job_id"), properties.get("schema")
    if own != job_id:
        what = f"is the workbook of job {own}, not of {job_id}" if own else "was not written by battenbook"
        raise InputError([Problem(path.name, what, "Name the workbook and the job that belong together.")])
    if schema != SCHEMA:
        what = f"was written by another version of battenbook (workbook {schema}; this one reads {SCHEMA})"
        fix = "Run estimate again and type the changes into the new workbook."
        raise InputError([Problem(path.name, what, fix)])


def _unlike(sheets: Sheets, rows: list[KeyedRow], codes: Codes, *, leave: bool) -> Iterator[Problem]:
    """Yield what is not as it was written, and not taken."""
    for problem in overwritten(rows, codes):
        yield replace(problem, severity="warning") if leave else problem
    yield from changed_words(rows, codes)
    yield from added(sheets, rows, codes)


def read_workbook(filled: FilledCells, book: Book, job_id: str, *, leave: bool = False) -> WorkbookReturn:
    """Return what the office left in a workbook, and what stood there when it was written.

    Args:
        filled: the workbook's cells, maybe edited and saved by another program.
        book: the job's book as it would be written now; tells what each input may hold.
        job_id: the job the workbook must belong to.
        leave: whether to go on without figures that were typed over formulas; they are named then.

    Raises:
        InputError: every reason not to take it: another job's, keys missing or
            twice, rows parted from their keys, formulas typed over, inputs empty, in error or outside what
            is allowed. Nothing is taken then.
    """
    sheets, every = filled.sheets, rows_of(filled.sheets)
    kept, codes = kept_in(every)
    properties = {**filled.properties, **kept}
    _belongs(filled.path, properties, job_id)
    issue = [row for row in every if row.table == ISSUED_TABLE]
    rows = [codes.ours(row) for row in every if row.table != ISSUED_TABLE and codes.knows(row)]
    found, problems = _found([*issue, *rows])
    inputs, issued, wrong = _read(found, book)
    problems += [*wrong, *_pick_problems(inputs, book), *mixed_rows(rows, codes)]
    problems += sorted_columns(rows, issued, inputs, codes)
    seen = {title: cells for title, cells in sheets.items() if title not in {row.sheet for row in issue}}
    problems += _unlike(seen, rows, codes, leave=leave) if codes else ()
    problems += pinned(filled)
    if any(p.severity == "error" for p in problems):
        raise InputError(problems)
    return WorkbookReturn(
        inputs, issued, properties, results_moved(rows, codes), looks(rows), tuple(problems)
    )


def read_inputs(filled: FilledCells, book: Book, job_id: str) -> Mapping[str, Value]:
    """Return every input of a workbook by key; as `read_workbook`, without figures typed over formulas."""
    return read_workbook(filled, book, job_id, leave=True).inputs


def where_to_look(book: Book) -> dict[str, str]:
    """Return for every input's key the place a person finds it: ``Client terms: Waste on sticks``."""
    placement, names = FieldAddresses(book), {}
    for key, field, _ in input_cells(book):
        row = key.removeprefix(f"{field.table}.{field.key}").lstrip(".")
        label = f"{field.label}, {row}" if row else field.label
        names[key] = f"{placement.spots[field.table].sheet}: {label}"
    return names
