"""Reading a price list: a CSV file that a spreadsheet opens, one thing to buy a row."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from estimator.catalogue.cells import ALWAYS, COLUMNS
from estimator.catalogue.kinds import KINDS, ItemKind
from estimator.catalogue.lumber import density_kg_m3
from estimator.catalogue.records import Item
from estimator.core.errors import InputError, Problem
from estimator.core.units import known_units, read_amount
from estimator.intake.files import read_text
from estimator.intake.structured import rows
from estimator.job.refusals import finished, nearest

Row = dict[str, str]
Lumber = Mapping[str, Any] | None
LONGEST_LIST = 20_000


@dataclass(frozen=True, slots=True)
class _Line:
    """A row of the file with its line number, from which its problems are told."""

    file: str
    number: int
    cells: Row

    def problem(self, column: str, what: str, fix: str) -> Problem:
        name = self.cells.get("key", "") or f"row {self.number}"
        return Problem(f"{name[:48]}.{column}", what, fix, file=self.file, line=self.number)


def _headings(row: list[str], line: int, file: str) -> list[Problem]:
    found = []
    for n, name in enumerate(row):
        if name not in COLUMNS:
            found.append(("heading", f"{name[:40]!r} is no column of a price list", nearest(name, COLUMNS)))
        elif name in row[:n]:
            found.append(("heading", f"column {name!r} stands twice", "Leave one out."))
    found += [
        ("heading", f"column {name!r} is missing", "Add it; the shipped list shows all columns.")
        for name in ALWAYS
        if name not in row
    ]
    return [Problem(where, what, fix, file=file, line=line) for where, what, fix in found]


def _needed(line: _Line) -> list[Problem]:
    name_of_kind = line.cells.get("kind", "")
    kind = KINDS.get(name_of_kind, ItemKind())
    names = (*ALWAYS, *kind.needs)
    if kind.wood and line.cells.get("specific gravity"):
        names = tuple(name for name in names if name != "density")  # it follows from the gravity
    return [
        line.problem(name, f"the {name} is missing", f"A {name_of_kind or 'row'} needs one.")
        for name in names
        if not line.cells.get(name)
    ]


def _read_cells(line: _Line) -> tuple[dict[str, Any], list[Problem]]:
    fields: dict[str, Any] = {}
    problems: list[Problem] = []
    for name, cell in line.cells.items():
        field, read = COLUMNS[name]
        if not cell:
            continue
        try:
            fields[field] = read(cell)
        except ValueError as error:
            what, _, fix = str(error).partition("; ")
            problems.append(line.problem(name, what, finished(fix)))
    return fields, problems


def _content(line: _Line, fields: dict[str, Any]) -> list[Problem]:
    """Put the content's number and unit in `fields`; return what is wrong with them."""
    dimension = KINDS.get(fields.get("kind", ""), ItemKind()).content
    text = fields.pop("content", "")
    try:
        amount = read_amount(text, dimension)
    except ValueError:
        what = f"{text[:40]!r} is no content of one buy unit of this kind"
        return [line.problem("content", what, f"Write a number and one of {known_units(dimension)}.")]
    if not amount.unit:
        what, fix = f"{text[:40]!r} has no unit", f"Write the unit too, such as {text[:12].strip()} ea."
        return [line.problem("content", what, fix)]
    if amount.number <= 0 or (dimension == "count" and amount.own.denominator != 1):
        return [line.problem("content", f"{text!r} cannot be one buy unit", "Write what one holds, over 0.")]
    fields["content"], fields["content_unit"] = amount.number, amount.unit
    return []


def _sizes(line: _Line, fields: dict[str, Any]) -> list[Problem]:
    found = [
        line.problem(name, "a size of nothing", "Write more than 0.")
        for name in ("thickness", "width", "length")
        if fields.get(name) == 0
    ]
    if fields.get("price") == 0:
        found.append(line.problem("price", "a price of nothing", "Write what one buy unit costs."))
    if fields.get("alpha") and not fields.get("alpha_source"):
        fix = "Name the report or the table they come from."
        found.append(line.problem("absorption source", "absorption without its source", fix))
    return found


def _item(line: _Line, lumber: Lumber) -> tuple[Item | None, list[Problem]]:
    fields, problems = _read_cells(line)
    problems += _needed(line)
    if "content" in fields:
        problems += _content(line, fields)
    problems += _sizes(line, fields)
    if problems:
        return None, problems
    fields.setdefault("item_code", "")
    if KINDS[fields["kind"]].wood and "specific_gravity" in fields:
        fields.setdefault("density_kg_m3", density_kg_m3(fields["specific_gravity"], facts=lumber))
    return Item(**fields, line=line.number), []


def _form(item: Item) -> tuple[object, ...]:
    """Return what the sizes of one product share."""
    return (item.kind, *(getattr(item, side) for side in item.stock.shared))


def _together(items: list[Item], file: str) -> list[Problem]:
    """Return what is wrong between rows: keys twice, products of two kinds, two currencies."""
    found: list[Problem] = []
    keys: dict[str, Item] = {}
    products: dict[str, Item] = {}
    sections: dict[str, Item] = {}
    for item in items:
        first = keys.setdefault(item.key, item)
        group = products.setdefault(item.product, item)
        section = sections.setdefault(item.section.casefold(), item)
        if section.section != item.section:
            what = f"section {item.section!r} is written {section.section!r} in line {section.line}"
            fix = "Write it one way; a spreadsheet does not tell capitals from small letters."
            found.append(Problem(f"{item.key}.section", what, fix, file=file, line=item.line))
        if first is not item:
            what = f"key {item.key!r} stands already in line {first.line}"
            found.append(
                Problem(f"{item.key}.key", what, "Give each row its own key.", file=file, line=item.line)
            )
        if _form(group) != _form(item):
            what = f"product {item.product!r} has another kind or section in line {group.line}"
            fix = "Rows of one product are sizes of the same thing; give this row its own product."
            found.append(Problem(f"{item.key}.product", what, fix, file=file, line=item.line))
        if item.currency != items[0].currency:
            what = f"{item.currency} stands among prices in {items[0].currency}"
            found.append(
                Problem(f"{item.key}.currency", what, "Keep one currency a list.", file=file, line=item.line)
            )
    return found


def read_price_list(path: Path, file: str | None = None, lumber: Lumber = None) -> tuple[Item, ...]:
    """Return the rows of a price list in the file's order.

    Args:
        path: a CSV file with comma, semicolon or tab between cells, its first row the headings.
        file: its name in messages; left out, `path`.
        lumber: the table of lumber, for members without a density; left out, the shipped one.

    Raises:
        InputError: everything wrong in any row, each with its line.
    """
    name = file or str(path)
    listed = list(rows(read_text(path, name), name))
    if not listed or len(listed) > LONGEST_LIST:
        what = "the price list is empty" if not listed else f"the price list has over {LONGEST_LIST} rows"
        raise InputError([Problem("file", what, "The shipped list shows the form.", file=name)])
    (first, headings), *body = listed
    problems = _headings(headings, first, name)
    if problems:
        raise InputError(problems)
    items: list[Item] = []
    for number, row in body:
        line = _Line(name, number, dict(zip(headings, row, strict=False)))
        if len(row) > len(headings):
            problems.append(line.problem("row", "more cells than headings", "Is there a comma in a price?"))
        item, found = _item(line, lumber)
        problems += found
        items += [item] if item else []
    problems += _together(items, name)
    if problems or not items:
        none = Problem("file", "the price list has no rows", "The shipped list shows the form.", file=name)
        raise InputError(problems or [none])
    return tuple(items)
