"""Rules about sheets: roles, contents, heads, locks; checks that gather and trip; results that are right."""

import io
import zipfile
from collections.abc import Callable, Iterator
from functools import partial
from itertools import chain

import ironcalc
from openpyxl.formula.tokenizer import Token
from openpyxl.utils import get_column_letter

from estimator.core.errors import Problem
from tests.workbook.delivered import Area, Delivered, Place, address, breach, cells

ROLES = ("Inputs", "Workings", "Outputs", "Control")


def one_role(file: Delivered) -> Iterator[Problem]:
    """1. Each sheet is inputs, workings, outputs or control, never two."""
    for sheet in file.book.worksheets:
        role = file.role(sheet.title)
        if role not in ROLES:
            yield breach(sheet.title, f"has the role {role!r}")
        open_ = [c.coordinate for row in sheet.iter_rows() for c in row if not c.protection.locked]
        if open_ and role in {"Workings", "Outputs"}:
            yield breach(sheet.title, f"is {role} but {open_[0]} is an input")
    for place in file.formulas:
        if file.role(place[0]) == "Inputs":
            yield breach(address(place), "is a formula on a sheet of inputs")


def about_first(file: Delivered) -> Iterator[Problem]:
    """2. An About sheet comes first: purpose, version, date, how to use, limits."""
    first = file.book.worksheets[0]
    said = {str(c.value).casefold() for c in cells(first) if c.column > 1}
    for wanted in ("purpose", "version", "date", "how to use", "limits"):
        if wanted not in said:
            yield breach(first.title, f"does not say {wanted}")


def contents_complete(file: Delivered) -> Iterator[Problem]:
    """3. A contents sheet lists every sheet to be seen; every link resolves."""
    if "Contents" not in file.book.sheetnames:
        yield breach("Contents", "is missing")
        return
    linked = set()
    for sheet in file.book.worksheets:
        for row in sheet.iter_rows():
            for cell in row:
                link = cell.hyperlink
                if link is None:
                    continue
                area = file.area(str(link.location or ""), "")
                if link.target or area is None or area.sheet not in file.order:
                    yield breach(
                        f"{sheet.title}!{cell.coordinate}", f"links to {link.target or link.location}"
                    )
                elif sheet.title == "Contents":
                    linked.add(area.sheet)
    seen = {s.title for s in file.book.worksheets if s.sheet_state == "visible"} - {"Contents"}
    for title in seen - linked:
        yield breach("Contents", f"does not link to {title}")


def heads_and_units(file: Delivered) -> Iterator[Problem]:
    """10. A column has one purpose, a header, a unit, and its table a first column a person can read."""
    for block in file.blocks:
        sheet, values = file.book[block.sheet], file.values[block.sheet]
        if not block.down:
            for row in range(block.keys + 1, block.last + 1):
                number = isinstance(values.cell(row, 4).value, int | float)
                if not sheet.cell(row, 2).value or (number and not sheet.cell(row, 3).value):
                    yield breach(f"{block.sheet}!B{row}", "has no label or no unit")
            continue
        if block.right > 1 and isinstance(values.cell(block.keys + 1, 2).value, int | float):
            yield breach(f"{block.sheet}!B{block.keys + 1}", f"{block.table}: rows have no name to be seen")
        for column in range(2, block.right + 1):
            place = f"{block.sheet}!{get_column_letter(column)}{block.keys - 2}"
            held = [values.cell(r, column).value for r in range(block.keys + 1, block.last + 1)]
            kinds = {isinstance(v, int | float) for v in held if v is not None}
            if not sheet.cell(block.keys - 2, column).value:
                yield breach(place, "has no header")
            if kinds == {True} and not sheet.cell(block.keys - 1, column).value:
                yield breach(place, "has no unit")
            if len(kinds) > 1 and block.table != "issued":
                yield breach(place, "mixes numbers and text")


def checked_totals(file: Delivered) -> Iterator[Problem]:
    """12. Every total on an outputs sheet is checked; the master check stands on the first sheet."""
    first = file.book.worksheets[0].title
    masters = [p for p in file.checks if p[0] == first]
    if not masters:
        yield breach(first, "shows no master check")
        return
    gathered = set().union(*(file.behind(m) for m in masters)) | set(masters)
    for check in sorted(file.checks - gathered):
        if any(p in gathered and p in file.formulas for a in file.reads[check] for p in a.places()):
            continue
        yield breach(address(check), "is not gathered in the master check")
    watched = set().union(*(file.behind(c) for c in file.checks))
    for place, tokens in file.tokens.items():
        picks_rows = tokens[1:] and tokens[1].value == "("  # (keys=key)*…: a look-up, as SUMIFS is
        total = tokens[0].value in {"SUM(", "SUMPRODUCT("} and not picks_rows
        if file.role(place[0]) == "Outputs" and total and place not in watched:
            yield breach(address(place), f"is a total that no check looks at: {file.formulas[place]}")


def inputs_only_open(file: Delivered) -> Iterator[Problem]:
    """13. Only inputs are unlocked, each with validation; no password; sorting off."""
    for sheet in file.book.worksheets:
        shield = sheet.protection
        if not shield.sheet or shield.password or not shield.sort:
            yield breach(sheet.title, "is not protected, has a password, or lets rows be sorted")
        guarded = {
            place
            for rule in sheet.data_validations.dataValidation
            if rule.error and rule.showErrorMessage
            for span in rule.sqref.ranges
            for place in Area(sheet.title, span.min_col, span.min_row, span.max_col, span.max_row).places()
        }
        for row in sheet.iter_rows():
            for cell in row:
                place = (sheet.title, cell.row or 0, cell.column or 0)
                if cell.protection.locked:
                    continue
                if place not in guarded:
                    yield breach(address(place), "is open without validation")
                if cell.data_type == "f":
                    yield breach(address(place), "is a formula left open")


def checks_trip(file: Delivered) -> Iterator[Problem]:
    """14. Every check says 'look' once one of the cells it reads is spoilt."""
    model = file.model()
    model.evaluate()
    left = {check: _victims(file, check) for check in sorted(file.checks)}
    behind = {check: file.behind(check) for check in left}
    while left:
        tripped, barren = _tripped(file, model, left, behind)
        for check in barren:
            yield breach(address(check), "never says 'look', whatever is spoilt")
        left = {check: victims for check, victims in left.items() if check not in (*tripped, *barren)}


def _tripped(
    file: Delivered,
    model: "ironcalc.Model",
    left: dict[Place, Iterator[Place]],
    behind: dict[Place, set[Place]],
) -> tuple[set[Place], set[Place]]:
    """Spoil the next cell of as many checks as read none of the others'; return which trip, and have none."""
    spoilt: dict[Place, Place] = {}
    barren = set()
    for check, victims in left.items():
        if any(victim in behind[check] for victim in spoilt.values()):
            continue
        victim = next(victims, None)
        if victim is None:
            barren.add(check)
        elif any(victim in behind[other] for other in spoilt):
            left[check] = chain([victim], victims)
        else:
            spoilt[check] = victim
    undo = [_spoil(file, model, victim) for victim in spoilt.values()]
    model.evaluate()
    tripped = {c for c in spoilt if model.get_cell_value(file.order[c[0]], c[1], c[2]) == "look"}
    for put_back in undo:
        put_back()
    return tripped, barren


def _victims(file: Delivered, check: Place) -> Iterator[Place]:
    """Yield cells to spoil for a check, nearest first: what it reads, then what those read."""
    seen: set[Place] = set()
    ahead = [check]
    for _ in range(3):
        near = [p for place in ahead for area in file.reads.get(place, []) for p in list(area.places())[:40]]
        yield from (p for p in near if p not in seen and p != check)
        seen.update(near)
        ahead = near


def _spoil(file: Delivered, model: "ironcalc.Model", victim: Place) -> Callable[[], object]:
    """Put another value into a cell; return what puts its own back, which the next evaluation sees."""
    at = (file.order[victim[0]], victim[1], victim[2])
    before, formula = model.get_cell_value(*at), file.formulas.get(victim)
    if isinstance(before, str):
        model.update_cell_with_text(*at, "look" if before == "ok" else f"{before}?")
    else:
        model.update_cell_with_number(*at, float(before or 0) + 1.0)
    if formula:
        return partial(model.update_cell_with_formula, *at, formula)
    if isinstance(before, str):
        return partial(model.update_cell_with_text, *at, before)
    if before is None:
        return partial(model.clear_cell_contents, *at)
    return partial(model.update_cell_with_number, *at, float(before))


def whole_file(file: Delivered) -> Iterator[Problem]:
    """15. No error cell, external link or macro; every name resolves; every formula has its right result."""
    with zipfile.ZipFile(io.BytesIO(file.raw)) as parts:
        for name in parts.namelist():
            if "externalLink" in name or "vbaProject" in name:
                yield breach(name, "is a link to another file or a macro")
    for name, defined in file.book.defined_names.items():
        area = file.area(defined.attr_text or "", "")
        if area is None or area.sheet not in file.order:
            yield breach(name, f"is a name for {defined.attr_text}, which is nothing")
    model = file.model()
    model.evaluate()
    for place in file.formulas:
        cached = file.values[place[0]].cell(place[1], place[2]).value
        fresh = model.get_cell_value(file.order[place[0]], place[1], place[2])
        if cached is None or (isinstance(cached, str) and cached.startswith("#")):
            yield breach(address(place), f"carries no result but {cached}")
        elif not _alike(cached, fresh):
            yield breach(address(place), f"carries {cached}; recalculated it is {fresh}")
        for token in file.tokens[place]:
            if token.subtype == Token.RANGE and file.area(token.value, place[0]) is None:
                yield breach(address(place), f"uses {token.value}, which is nothing")


def _alike(cached: object, fresh: object) -> bool:
    if hasattr(cached, "year"):
        return True
    if isinstance(cached, str) or isinstance(fresh, str):
        return cached == fresh
    a, b = float(cached or 0), float(fresh or 0)  # type: ignore[arg-type]
    return abs(a - b) <= 1e-9 * max(1.0, abs(a))
