"""How many hangers each cloud takes, counted again for whatever size the office gives it; hooks and feet.

Hangers stand no further apart than the shop says, along and across. Where the busiest would carry more than
its rated load with the shop's safety factor, or the cloud has fewer than the shop's least, rows are added
along it, or hangers in each row, whichever takes fewer in all. Screens and recess boxes have the shop's
number. What then carries too much is counted, for a check.

Source: tributary area (statics): of n hangers in an even row the busiest carries 1 / (n - 1), at most a half.
"""

from dataclasses import dataclass
from decimal import Decimal

from estimator.calc.evaluation import number
from estimator.calc.expressions import Expr, call, find, if_, lift, round_to, whole_down, whole_up
from estimator.calc.tables import Draft, Field, Table
from estimator.catalogue.records import Catalogue
from estimator.core.money import rounded
from estimator.core.units import Measures
from estimator.layout.clouds import MOST_ROWS
from estimator.layout.records import Layout
from estimator.takeoff.weighing import hung

_LAST_BIT = 6


def hardware_counts(
    layout: Layout, catalogue: Catalogue, tables: tuple[Table, Table], practice: Table, units: Measures
) -> Table:
    """Return the hangers, hooks or feet of every piece that has them, live from its size and weight.

    Args:
        layout: the frames and hardware.
        catalogue: for rated loads.
        tables: the frame schedule, and the weights, row by row beside this.
        practice: the shop's practice.
        units: the job's units.
    """
    schedule, weights = tables
    items = [catalogue.sizes(held.product)[0] for held in layout.hardware]
    labels = {key: value.label for key, value in catalogue.practice.values.items()}
    numbers = [held.number for held in layout.hardware]
    table = Draft("hardware", "Hangers, hooks and feet of each piece")
    key = table.names([frame.name for frame in hung(layout)], "Frame")
    table.label("kind", "Counted", [item.kind for item in items])
    number_by = table.label("number_by", "Number", [labels.get(n, "by size and weight") for n in numbers])
    ratings = [rounded(item.rated_load_n or 0, _LAST_BIT) for item in items]
    rated = table.decided("rated", "Rated load", "N", ratings, places=1)
    loaded = [Decimal(not number) for number in numbers]
    hangs = table.decided("hangs", "As many as carry it (1 = yes)", "", loaded, 0)
    carried = weights["weight"] * practice["hanger_safety_factor"].at() / rated
    loads = table.formula("loads", "Rated loads to carry", "", if_(rated.gt(0), carried, 0), places=2)
    columns = _Columns(table, practice)
    sides = tuple(
        table.formula(side, side.capitalize(), units.small, find(schedule[side], schedule["key"], key))
        for side in ("width", "height")
    )
    hangers, shares = columns.hangers(hangs, (sides[0], sides[1]), loads)
    each: Expr = lift(0)
    for value in dict.fromkeys(filter(None, numbers)):
        each = if_(number_by.eq(labels[value]), practice[value].at(), each)
    own = table.formula("fixed", "The shop's number", "ea", (1 - hangs) * whole_down(each), places=0)
    table.formula("pieces", "Hangers, hooks, feet", "ea", hangers + own, places=0)
    over = if_(round_to(loads - shares - own, _LAST_BIT).gt(0), 1, 0)
    table.formula("overloaded", "Carries too much (1 = yes)", "", over, places=0)
    return table.table()


@dataclass(frozen=True, slots=True)
class _Columns:
    """The columns of hangers being written, and the shop's practice."""

    table: Draft
    practice: Table

    def _practice(self, key: str) -> Expr:
        return self.practice[key].at()

    def _count(self, key: str, label: str, expr: Expr) -> Field:
        return self.table.formula(key, label, "ea", expr, places=0)

    def hangers(self, hangs: Field, sides: tuple[Field, Field], loads: Field) -> tuple[Field, Field]:
        """Return the columns of hangers, and of the rated loads that they carry.

        Rows are added along the cloud, or hangers in each row, whichever takes fewer hangers.
        """
        width, height = sides
        rows = [Decimal(MOST_ROWS) * number(value) for value in hangs.values]
        most = self.table.decided("most", "Rows for a load, at most", "ea", rows, places=0)
        across = self._spaced("across", "Across by spacing", width, hangs)
        along = self._spaced("along", "Along by spacing", height, hangs)
        longer = self._rows("longer", "Along", (along, across), loads, most)
        wider = self._rows("wider", "Across", (across, along), loads, most)
        by_longer = self._count("by_longer", "Hangers, more along", across * longer)
        by_wider = self._count("by_wider", "Hangers, more across", wider * along)
        shares = if_(by_longer.le(by_wider), _parts(across) * _parts(longer), _parts(wider) * _parts(along))
        carried = self._count("carried", "Rated loads carried", hangs * shares)
        return self._count("hangers", "Hangers", call("MIN", by_longer, by_wider)), carried

    def _spaced(self, key: str, label: str, side: Field, hangs: Field) -> Field:
        clear = side - 2 * self._practice("hanger_inset")
        gaps = call("MAX", whole_up(clear / self._practice("hanger_spacing")), 1)
        return self._count(key, label, hangs * (gaps + 1))

    def _rows(self, key: str, label: str, sides: tuple[Field, Field], loads: Field, most: Field) -> Field:
        own, other = sides
        parts = self._count(f"{key}_parts", f"{label}: shares for the load", whole_up(loads / _parts(other)))
        by_load = if_(parts.gt(2), parts + 1, 2)
        by_number = whole_up(self._practice("hanger_points_min") / call("MAX", other, 1))
        wanted = call("MIN", call("MAX", by_load, by_number), most)
        return self._count(key, f"{label}, with the load", call("MAX", own, wanted))


def _parts(points: Field) -> Expr:
    """Return by how many the load of an even row is divided for the hanger that carries most of it."""
    return call("MAX", points - 1, 2)
