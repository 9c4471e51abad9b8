"""The trail: which frame, strip or piece adds how much to which line, and by which column.

Each row of the trail names a line, a source and a measure; the quantity is looked up in the workings,
so the office sees in one place why there are fourteen sticks.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from estimator.calc.expressions import find, find_in, if_
from estimator.calc.tables import Draft, Table


@dataclass(frozen=True, slots=True)
class Share:
    """What one source adds to one line: `source` is a row, `measure` a column of the workings."""

    line: str
    source: str
    measure: str


@dataclass(frozen=True, slots=True)
class Counted:
    """What the layout counted for one line: screws by where they hold, hangers, feet, extensions."""

    line: str
    source: str
    what: str
    count: int
    fixing: bool = False


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


def counted(rows: Iterable[Counted], fixings: Table, names: Names) -> Table:
    """Return the trail of what the layout counted; the fixings of wall frames follow their frames' sizes.

    Args:
        rows: what was counted.
        fixings: of each wall frame, live.
        names: of the lines.
    """
    entries, live = tuple(rows), set(fixings["key"].values)
    table = Draft("count_trail", "Counted by the layout")
    table.keys([f"{c.line}|{c.source}|{c.what}" for c in entries])
    table.label("material", "Material", [names[c.line].words for c in entries])
    table.link("line", "Line", [c.line for c in entries])
    source = table.label("source", "From", [c.source for c in entries])
    table.label("what", "What", [c.what for c in entries])
    table.label("is_fixing", "Fixing screw", ["yes" if c.fixing else "no" for c in entries])
    count = table.decided("counted", "As laid out", "ea", [Decimal(c.count) for c in entries], places=0)
    follows = [Decimal(c.fixing and c.source in live) for c in entries]
    live_one = table.decided("follows", "Follows its frame (1 = yes)", "", follows, places=0)
    found = find(fixings["points"], fixings["key"], source) if live else count + 0
    table.formula("quantity", "Quantity", "ea", if_(live_one.eq(1), found, count), places=0)
    return table.table()
