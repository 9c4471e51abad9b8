"""Reading a price list, a CSV file of one thing to buy a row; and what looks wrong in one that is read."""

import csv
import datetime as dt
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from math import prod
from pathlib import Path
from statistics import median
from types import MappingProxyType
from typing import Any, get_args

from estimator.catalogue.records import KINDS, WHOLE, Charged, Item, ItemKind
from estimator.catalogue.references import density_kg_m3, dressed_sizes, nominal_size
from estimator.core.characters import hidden, named
from estimator.core.errors import InputError, Problem, refuse_all
from estimator.core.units import METRE, factor, format_length, known_units, parse_length, read_amount
from estimator.intake.files import read_text
from estimator.intake.structured import rows
from estimator.job.document import nearest, sentences
from estimator.job.fields import KEY_PATTERN, MONEY_PATTERN

Reader = Callable[[str], Any]
_CURRENCY = re.compile(r"[A-Z]{3}")
_COST_CODE = re.compile(r"\d\d \d\d \d\d(\.\d\d)?")
_BANDS = 6
_LONGEST = 300


def text(cell: str) -> str:
    """Return a line of text."""
    if len(cell) > _LONGEST:
        raise ValueError(f"{cell[:20]!r}… is over {_LONGEST} characters; shorten it")
    if found := hidden(cell):
        raise ValueError(f"the text {named(found)}; write plain text on one line")
    return cell


def key(cell: str) -> str:
    """Return a key."""
    if not re.fullmatch(KEY_PATTERN, cell):
        raise ValueError(
            f"{cell[:40]!r} is not a key; write small letters, digits, points, hyphens, underscores"
        )
    return cell


def kind(cell: str) -> str:
    """Return a kind of item."""
    if cell not in KINDS:
        raise ValueError(f"{cell[:40]!r} is not a kind of item; {nearest(cell, KINDS)}")
    return cell


def cost_code(cell: str) -> str:
    """Return a section number of the form ``06 10 00``."""
    if not _COST_CODE.fullmatch(cell):
        raise ValueError(f"{cell[:40]!r} is not a section number; write it like 06 10 00")
    return cell


def money(cell: str) -> Decimal:
    """Return a price."""
    if cell.startswith("-"):
        raise ValueError(f"{cell[:40]!r} is negative; write what one buy unit costs")
    if not re.fullmatch(MONEY_PATTERN, cell):
        raise ValueError(f"{cell[:40]!r} is not a price; write digits and a point, such as 12.50")
    return Decimal(cell)


def currency(cell: str) -> str:
    """Return a currency code."""
    if not _CURRENCY.fullmatch(cell):
        raise ValueError(f"{cell[:40]!r} is not an ISO 4217 currency code; write three capitals, such as CAD")
    return cell


def date(cell: str) -> dt.date:
    """Return a date written as year-month-day."""
    try:
        return dt.date.fromisoformat(cell)
    except ValueError:
        raise ValueError(f"{cell[:40]!r} is not a date; write it like 2026-03-02") from None


def yes_no(cell: str) -> bool:
    """Return whether the cell says yes."""
    if cell.lower() not in {"yes", "no"}:
        raise ValueError(f"{cell[:40]!r} is neither yes nor no; write one of them")
    return cell.lower() == "yes"


def charged(cell: str) -> str:
    """Return how a job pays for it."""
    if cell not in get_args(Charged):
        raise ValueError(f"{cell[:40]!r} is no way to charge; write pack, or use for the part used up")
    return cell


def whole(cell: str) -> int:
    """Return a whole number of at most four digits."""
    if not re.fullmatch(r"[0-9]{1,4}", cell):
        raise ValueError(f"{cell[:40]!r} is not a whole number; write digits only")
    return int(cell)


def number(cell: str) -> float:
    """Return a plain number."""
    return float(read_amount(cell, "ratio").own)


def absorption(cell: str) -> tuple[float, ...]:
    """Return six absorption coefficients, 125 to 4000 Hz."""
    parts = cell.split()
    if len(parts) != _BANDS or not all(re.fullmatch(r"[01]?\.\d{1,3}|[01]", p) for p in parts):
        raise ValueError(
            f"{cell[:40]!r} is not six coefficients; write those of 125 to 4000 Hz, such as 0.10 0.30"
        )
    return tuple(float(p) for p in parts)


def measured(dimension: str) -> Reader:
    """Return the reader of an amount of a dimension, in the dimension's own unit."""
    return lambda cell: float(read_amount(cell, dimension).own)


COLUMNS: Mapping[str, tuple[str, Reader]] = {
    "key": ("key", key),
    "product": ("product", key),
    "kind": ("kind", kind),
    "description": ("description", text),
    "section": ("section", text),
    "cost code": ("cost_code", cost_code),
    "supplier": ("supplier", text),
    "item code": ("item_code", text),
    "buy unit": ("buy_unit", text),
    "content": ("content", text),
    "price": ("price", money),
    "currency": ("currency", currency),
    "price date": ("price_date", date),
    "thickness": ("thickness", parse_length),
    "width": ("width", parse_length),
    "length": ("length", parse_length),
    "gauge": ("gauge", text),
    "density": ("density_kg_m3", measured("density")),
    "specific gravity": ("specific_gravity", number),
    "airflow resistivity": ("resistivity_pa_s_m2", measured("resistivity")),
    "airflow resistance": ("cloth_pa_s_m", measured("resistance")),
    "cloth mass": ("mass_kg_m2", measured("area-mass")),
    "mass": ("mass_kg", measured("mass")),
    "absorption": ("alpha", absorption),
    "absorption source": ("alpha_source", text),
    "repeat": ("repeat", parse_length),
    "nap": ("nap", yes_no),
    "railroad": ("railroad", yes_no),
    "rated load": ("rated_load_n", measured("force")),
    "charged": ("charged", charged),
    "lead days": ("lead_days", whole),
    "source": ("source", text),
}
"""Heading of each column, the record's field, and the reader of its cells."""

ALWAYS = (
    "key", "product", "kind", "description", "section", "cost code", "supplier", "buy unit", "content",
    "price", "currency", "price date", "source",
)  # fmt: skip
"""Columns that every row must fill."""


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
            problems.append(line.problem(name, *sentences(error)))
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
    if fields.get("charged") == "use" and KINDS[fields["kind"]].stock is not WHOLE:
        fix = "Write pack: what is left of a stick, board or roll is the job's."
        found.append(line.problem("charged", "what is cut cannot be charged by use", fix))
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
    return (item.kind, item.charged, *(getattr(item, side) for side in item.stock.shared))


def _together(items: list[Item], file: str) -> Iterator[Problem]:
    """Yield what is wrong between rows: keys twice, products of two kinds, two currencies."""
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
            yield Problem(f"{item.key}.section", what, fix, file=file, line=item.line)
        if first is not item:
            what = f"key {item.key!r} stands already in line {first.line}"
            yield Problem(f"{item.key}.key", what, "Give each row its own key.", file=file, line=item.line)
        if _form(group) != _form(item):
            what = f"product {item.product!r} has another kind, size or way to charge in line {group.line}"
            fix = "Rows of one product are sizes of the same thing; give this row its own product."
            yield Problem(f"{item.key}.product", what, fix, file=file, line=item.line)
        if item.currency != items[0].currency:
            what = f"{item.currency} stands among prices in {items[0].currency}"
            yield Problem(
                f"{item.key}.currency", what, "Keep one currency a list.", file=file, line=item.line
            )


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
    refuse_all(problems)
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


FAR_APART = 3
"""Times the middle price a unit of a product may cost before it is doubted: a slipped digit is ten times."""


@dataclass(frozen=True, slots=True)
class Dated:
    """Prices of one supplier and date that are not to be relied on; `age_days` is below 0 for days ahead."""

    supplier: str
    date: dt.date
    age_days: int
    keys: tuple[str, ...]
    line: int

    def problem(self, file: str) -> Problem:
        """Return the warning, at the first row of them."""
        many, them = len(self.keys), "it" if len(self.keys) == 1 else "them"
        prices = "1 price" if many == 1 else f"{many} prices"
        if self.age_days < 0:
            what, fix = f"{prices} dated {self.date}, {-self.age_days} days ahead", "Check the date."
        else:
            what, fix = f"{prices} of {self.date}, {self.age_days} days old", f"Ask for {them} again."
        return Problem(self.supplier, what, fix, file=file, line=self.line, severity="warning")


def dated(items: Sequence[Item], day: dt.date, oldest_days: float) -> tuple[Dated, ...]:
    """Return prices older than `oldest_days` on a day, or dated after it, by supplier and date."""
    groups: dict[tuple[str, dt.date], list[Item]] = {}
    for item in items:
        if not 0 <= (day - item.price_date).days <= oldest_days:
            groups.setdefault((item.supplier, item.price_date), []).append(item)
    return tuple(
        Dated(supplier, date, (day - date).days, tuple(item.key for item in group), group[0].line)
        for (supplier, date), group in groups.items()
    )


def doubts(items: Sequence[Item], file: str) -> list[Problem]:
    """Return warnings of single rows, by line.

    Args:
        items: the price list.
        file: the list's name in messages.
    """
    found = [*_codes(items), *_packs(items), *_dressed(items)]
    return [
        Problem(f"{item.key}.{column}", what, fix, file=file, line=item.line, severity="warning")
        for item, column, what, fix in sorted(found, key=lambda one: (one[0].line, one[1]))
    ]


Doubt = tuple[Item, str, str, str]


def _codes(items: Sequence[Item]) -> Iterator[Doubt]:
    for item in items:
        if item.cost_code not in cost_code_titles():
            what = f"the section {item.cost_code} is not known here"
            yield item, "cost code", what, "Check the number; the line is priced all the same."


def unit_price(item: Item) -> Decimal:
    """Return the price of one own unit of what an item holds, size of boards and sticks included."""
    own = factor(item.content_unit)
    content = item.content * own.numerator / own.denominator
    return item.price / content / prod(Decimal(side) / METRE for side in item.cut_sides)


def _packs(items: Sequence[Item]) -> Iterator[Doubt]:
    """Yield sizes far from their product's middle price; of two so far apart both, as either may be wrong."""
    for product in dict.fromkeys(item.product for item in items):
        sizes = [item for item in items if item.product == product]
        prices = [unit_price(item) for item in sizes]
        for item, own in zip(sizes, prices, strict=True):
            pair = len(sizes) == 2  # noqa: PLR2004 - the two sizes of a pair
            times = own / (sum(prices) - own if pair else median(prices))
            if times > FAR_APART or times * FAR_APART < 1:
                beside = f"the other size of {product!r}" if pair else f"the middle size of {product!r}"
                what = f"for what it holds it costs {times:.{0 if times > FAR_APART else 3}f} times {beside}"
                yield item, "content", what, "Check content and price."


def _dressed(items: Sequence[Item]) -> Iterator[Doubt]:
    """Yield members whose size is the one they are called by, not the one they are planed to."""
    for item in items:
        planed = dressed_sizes().get(nominal_size(item.description)) if KINDS[item.kind].wood else None
        if planed and item.thickness and item.width and {item.thickness, item.width} != set(planed):
            sizes = " x ".join(format_length(size) for size in planed)
            yield item, "width", f"a planed {nominal_size(item.description)} is {sizes}", "Measure one."


DATA = Path(__file__).parent / "data" / "cost_codes.csv"


@cache
def cost_code_titles() -> Mapping[str, str]:
    """Return the title of every section known here, by its number such as ``09 84 33``."""
    with DATA.open(encoding="utf-8", newline="") as stream:
        return MappingProxyType({row["code"]: row["title"] for row in csv.DictReader(stream)})
