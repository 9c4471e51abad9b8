"""Read the office's inputs out of a workbook by their keys, whatever was inserted, sorted or renamed in it.

Totals are never taken from the file: the inputs come back, and the program computes anew.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from itertools import islice
from pathlib import Path

from estimator.calc.expressions import Field, Value
from estimator.calc.keys import SPARE, input_cells
from estimator.calc.placement import Placement
from estimator.calc.tables import Book, input_key
from estimator.core.characters import hidden, named
from estimator.core.errors import InputError, Problem, refuse
from estimator.core.money import decimal
from estimator.intake.cells import Cell, Filled, Place
from estimator.intake.cells import read_workbook as cells_of
from estimator.intake.package import ASK
from estimator.workbook.blocks import MARK, ONLY_CASE
from estimator.workbook.control import ISSUED_TABLE
from estimator.workbook.shown import allowed, sort_of
from estimator.workbook.validation import EPOCH

BLANK = Cell(None)
MOST_TABLES, WIDEST, MOST_KEYED = 2_000, 256, 200_000


@dataclass(frozen=True, slots=True)
class Returned:
    """What a workbook brings back.

    Attributes:
        inputs: every input by key, as the office left it; a key whose row the job no longer has is kept.
        issued: the same inputs as they were when the workbook was written.
        properties: the workbook's own properties: ``job_id``, ``schema``.
    """

    inputs: Mapping[str, Value]
    issued: Mapping[str, Value]
    properties: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class _Keyed:
    """A cell found by its key, and where it stands now, as a person would say it."""

    cell: Cell
    where: str


def _mark(cell: Cell) -> list[str]:
    """Return table and orientation where the cell opens a table, else nothing."""
    parts = cell.value.split(":") if isinstance(cell.value, str) else []
    return parts[1:] if len(parts) == 3 and parts[0] == MARK else []  # noqa: PLR2004 - key, table, orientation


def _rows(cells: Mapping[Place, Cell]) -> dict[int, dict[int, Cell]]:
    """Return the filled cells by row and column, in order."""
    rows: dict[int, dict[int, Cell]] = defaultdict(dict)
    for (row, column), cell in sorted(cells.items()):
        rows[row][column] = cell
    return rows


def _keyed(sheets: Mapping[str, Mapping[Place, Cell]]) -> Iterator[tuple[str, _Keyed]]:
    """Yield key and cell of every keyed cell, blank ones too; a table ends where the next begins below it."""
    marks = 0
    for title, cells in sheets.items():
        tables: dict[int, tuple[list[str], dict[int, str]]] = {}
        for row, filled in _rows(cells).items():
            for column, own in filled.items():
                if mark := _mark(own):
                    right = range(column + 1, column + 1 + WIDEST)
                    tables[column] = mark, {c: str(filled[c].value) for c in right if c in filled}
                    marks += 1
                elif own.value is not None and column in tables:
                    for at, key in _keys(str(own.value), *tables[column]):
                        yield key, _Keyed(filled.get(at, BLANK), f"{title}, row {row}")
                if marks > MOST_TABLES:
                    raise refuse(title, f"the workbook holds over {MOST_TABLES:,} tables", ASK)


def _keys(own: str, mark: list[str], heads: Mapping[int, str]) -> Iterator[tuple[int, str]]:
    """Yield column and key of what stands beside a row's own name."""
    table, orientation = mark
    for at, head in heads.items():
        case = "" if head == ONLY_CASE else head
        parts = (own, case) if orientation == "across" else (head, own)
        yield at, input_key(table, *parts)


def _found(filled: Filled) -> tuple[dict[str, _Keyed], list[Problem]]:
    """Return every keyed cell, and a problem for each key that stands more than once."""
    pairs = list(islice(_keyed(filled.sheets), MOST_KEYED + 1))
    if len(pairs) > MOST_KEYED:
        raise refuse("workbook", f"holds over {MOST_KEYED:,} cells with keys", ASK)
    places: dict[str, list[str]] = defaultdict(list)
    for key, keyed in pairs:
        places[key].append(keyed.where)
    twice = sorted((key, where) for key, where in places.items() if len(where) > 1)
    return dict(pairs), [Problem(k, f"stands more than once: {'; '.join(w)}", ASK) for k, w in twice]


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


def _read(found: Mapping[str, _Keyed], book: Book) -> tuple[Returned, list[Problem]]:
    issued_cells, fields = _issued(found), {key: field for key, field, _ in input_cells(book)}
    inputs: dict[str, Value] = {}
    issued: dict[str, Value] = {}
    problems: list[Problem] = []
    if not issued_cells:
        problems.append(Problem("As issued", "the sheet with the inputs as issued is gone", ASK))
    for key, was in issued_cells.items():
        if key not in found:
            problems.append(Problem(key, "is no longer in the workbook: its row or column was deleted", ASK))
            continue
        field = fields.get(key)
        if field is None:
            inputs[key], issued[key] = _plain(found[key].cell), _plain(was.cell)
            continue
        needed = was.cell.value is not None and sort_of(field) != "text"
        inputs[key], wrong = _checked(key, found[key], field, needed=needed)
        issued[key] = None if was.cell.value is None else _converted(was.cell.value, sort_of(field))
        problems += wrong
    return Returned(inputs, issued, {}), problems


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


def read_workbook(path: Path, book: Book, job_id: str) -> Returned:
    """Return what the office left in a workbook, and what stood there when it was written.

    Args:
        path: the workbook, maybe edited and saved by another program.
        book: the job's book as it would be written now; tells what each input may hold.
        job_id: the job the workbook must belong to.

    Raises:
        InputError: every reason not to take it: harmful or damaged, another job's, keys missing or
            twice, inputs empty, in error or outside what is allowed. Nothing is taken then.
    """
    filled = cells_of(path)
    own = filled.properties.get("job_id")
    if own != job_id:
        what = f"is the workbook of job {own}, not of {job_id}" if own else "was not written by battenbook"
        raise InputError([Problem(path.name, what, "Name the workbook and the job that belong together.")])
    found, twice = _found(filled)
    returned, problems = _read(found, book)
    problems += _pick_problems(returned.inputs, book)
    if twice or problems:
        raise InputError([*twice, *problems])
    return Returned(returned.inputs, returned.issued, filled.properties)


def read_inputs(path: Path, book: Book, job_id: str) -> Mapping[str, Value]:
    """Return every input of a workbook by key; as `read_workbook`."""
    return read_workbook(path, book, job_id).inputs


def where_to_look(book: Book) -> dict[str, str]:
    """Return for every input's key the place a person finds it: ``Client terms: Waste on sticks``."""
    placement, names = Placement(book), {}
    for key, field, _ in input_cells(book):
        row = key.removeprefix(f"{field.table}.{field.key}").lstrip(".")
        label = f"{field.label}, {row}" if row else field.label
        names[key] = f"{placement.spots[field.table].sheet}: {label}"
    return names
