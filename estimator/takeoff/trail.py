"""The trail: which frame, strip or piece adds how much to which line, and by which column.

Each row of the trail names a line, a source and a measure; the quantity is looked up in the workings,
so the office sees in one place why there are fourteen sticks.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from estimator.calc.expressions import Expr, find, find_in, if_, lift
from estimator.calc.tables import Draft, Field, Table


@dataclass(frozen=True, slots=True)
class Share:
    """What one source adds to one line: `source` is a row, `measure` a column of the workings."""

    line: str
    source: str
    measure: str


@dataclass(frozen=True, slots=True)
class Counted:
    """What the layout counted for one line: screws by where they hold, hangers, feet, extensions.

    Attributes:
        live: what it follows: the fixings of a wall frame, the hardware of a piece, or nothing.
    """

    line: str
    source: str
    what: str
    count: int
    live: Literal["", "fixing", "hardware"] = ""


@dataclass(frozen=True, slots=True)
class Naming:
    """What people call a line, and the unit it is counted in."""

    words: str
    unit: str


Names = Mapping[str, Naming]
"""By the key of a line."""


def trail(key: str, title: str, shares: Iterable[Share], work: Table, names: Names) -> Table:
    """Return the trail of one table of workings.

    Args:
        key: of the table made.
        title: its title.
        shares: its rows.
        work: the workings, whose first field holds the sources' keys.
        names: of the lines; the quantity is in the unit of the line.
    """
    rows = tuple(shares)
    table = Draft(key, title)
    table.keys([f"{s.line}|{s.source}|{s.measure}" for s in rows])
    table.label("material", "Material", [names[s.line].words for s in rows])
    table.link("line", "Line", [s.line for s in rows])
    source = table.label("source", "From", [s.source for s in rows])
    table.label("what", "What", [work[s.measure].label for s in rows])
    measure = table.link("measure", "Column", [s.measure for s in rows])
    table.label("unit", "Unit", [names[s.line].unit for s in rows])
    columns = work.fields[1:]
    looked_up = find_in(columns, work.fields[0], source, measure)
    table.formula("quantity", "Quantity", "", looked_up, places=4)
    return table.table()


def counted(rows: Iterable[Counted], fixings: Table, hardware: Table, names: Names) -> Table:
    """Return the trail of what the layout counted; fixings and hardware follow their pieces' sizes.

    Args:
        rows: what was counted.
        fixings: of each wall frame, live.
        hardware: hangers, hooks and feet of each piece, live.
        names: of the lines.
    """
    entries, walls = tuple(rows), set(fixings["key"].values)
    table = Draft("count_trail", "Counted by the layout")
    table.keys([f"{c.line}|{c.source}|{c.what}" for c in entries])
    table.label("material", "Material", [names[c.line].words for c in entries])
    table.link("line", "Line", [c.line for c in entries])
    source = table.label("source", "From", [c.source for c in entries])
    table.label("what", "What", [c.what for c in entries])
    is_fixing = [c.live == "fixing" for c in entries]
    table.label("is_fixing", "Fixing screw", ["yes" if one else "no" for one in is_fixing])
    count = table.decided("counted", "As laid out", "ea", [Decimal(c.count) for c in entries], places=0)
    on_walls = [Decimal(one and c.source in walls) for one, c in zip(is_fixing, entries, strict=True)]
    on_wall = table.decided("follows", "Follows its frame (1 = yes)", "", on_walls, places=0)
    pieces = [Decimal(c.live == "hardware") for c in entries]
    of_piece = table.decided("of_piece", "Follows its piece (1 = yes)", "", pieces, places=0)
    points, held = _live(fixings, "points", source), _live(hardware, "pieces", source)
    wall = table.formula("on_wall", "Fixings", "ea", if_(on_wall.eq(1), points, 0), places=0)
    piece = table.formula("on_piece", "Hangers, hooks, feet", "ea", if_(of_piece.eq(1), held, 0), places=0)
    as_laid = if_((on_wall + of_piece).eq(0), count, 0)
    table.formula("quantity", "Quantity", "ea", wall + piece + as_laid, places=0)
    return table.table()


def _live(table: Table, field: str, source: Field) -> Expr:
    """Return the cell of a source's row; 0 where the table has no rows."""
    return find(table[field], table["key"], source) if table.count else lift(0)
