"""How many hangers a cloud takes: one rule, for the layout and for whatever size the office gives a cloud.

Hangers stand no further apart than the shop says, along and across. Where the busiest would carry more than
its rated load with the shop's safety factor, or the cloud has fewer than the shop's least, rows are added
along it, or hangers in each row, whichever takes fewer in all.

Source: tributary area (statics): of n hangers in an even row the busiest carries 1 / (n - 1), at most a half.
"""

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal

from estimator.calc.evaluation import number
from estimator.calc.expressions import Expr, Field, call, if_, whole_up
from estimator.calc.tables import Draft
from estimator.catalogue.records import Catalogue
from estimator.core.money import decimal
from estimator.core.units import Nm
from estimator.layout.fixings import set_evenly

_MOST_ROWS = 50
"""No load adds rows beyond this: hangers as weak as that are warned of."""
_HALVES = 2
"""Two hangers, and three, halve the load of a row."""


@dataclass(frozen=True, slots=True)
class Grid:
    """Hanger points: `across` in a row, `along` rows."""

    across: int
    along: int

    @property
    def points(self) -> int:
        """Return how many hangers."""
        return self.across * self.along

    @property
    def share(self) -> float:
        """Return the part of the weight on the hanger that carries most, by the area it supports."""
        return 1 / (max(self.across - 1, _HALVES) * max(self.along - 1, _HALVES))


@dataclass(frozen=True, slots=True)
class Hangers:
    """The columns of hangers in a table of hung pieces, row by row.

    Args:
        table: being written.
        practice: the cell of a value of the shop's practice.
        hangs: 1 for pieces that take as many hangers as carry them, 0 for others.
        loads: the weight with its safety factor, in rated loads of a hanger.
    """

    table: Draft
    practice: Callable[[str], Expr]
    hangs: Field
    loads: Field

    def count(self, width: Field, height: Field) -> tuple[Field, Field]:
        """Write the columns; return hangers, and the rated loads that they carry."""
        rows = [Decimal(_MOST_ROWS) * number(value) for value in self.hangs.values]
        most = self.table.decided("most", "Rows for a load, at most", "ea", rows, places=0)
        across = self._spaced("across", "Across by spacing", width)
        along = self._spaced("along", "Along by spacing", height)
        longer = self._rows("longer", "Along", along, across, most)
        wider = self._rows("wider", "Across", across, along, most)
        by_longer = self._ea("by_longer", "Hangers, more along", across * longer)
        by_wider = self._ea("by_wider", "Hangers, more across", wider * along)
        shares = if_(by_longer.le(by_wider), _parts(across) * _parts(longer), _parts(wider) * _parts(along))
        carried = self._ea("carried", "Rated loads carried", self.hangs * shares)
        return self._ea("hangers", "Hangers", call("MIN", by_longer, by_wider)), carried

    def _ea(self, key: str, label: str, expr: Expr) -> Field:
        return self.table.formula(key, label, "ea", expr, places=0)

    def _spaced(self, key: str, label: str, side: Field) -> Field:
        evenly = set_evenly(side, self.practice("hanger_inset"), self.practice("hanger_spacing"))
        return self._ea(key, label, self.hangs * evenly)

    def _rows(self, key: str, label: str, own: Field, other: Field, most: Field) -> Field:
        needed = whole_up(self.loads / _parts(other))
        parts = self._ea(f"{key}_parts", f"{label}: shares for the load", needed)
        by_load = if_(parts.gt(_HALVES), parts + 1, 2)
        by_number = whole_up(self.practice("hanger_points_min") / call("MAX", other, 1))
        wanted = call("MIN", call("MAX", by_load, by_number), most)
        return self._ea(key, f"{label}, with the load", call("MAX", own, wanted))


def _parts(points: Field) -> Expr:
    """Return by how many the load of an even row is divided for the hanger that carries most of it."""
    return call("MAX", points - 1, _HALVES)


def hanger_grid(width: Nm, length: Nm, weight: float, rated_n: float | None, catalogue: Catalogue) -> Grid:
    """Return hangers that are close enough together and carry the weight safely, by the rule of `Hangers`.

    Args:
        width: of the cloud.
        length: of the cloud.
        weight: of the cloud with its strips, newtons.
        rated_n: of one hanger; None where the price list gives none, and spacing alone decides.
        catalogue: for the shop's practice.
    """
    practice, row = catalogue.practice, Draft("cloud", "A cloud")

    def given(key: str, value: Decimal) -> Field:
        return row.decided(key, key, "", [value])

    values = {key: Decimal(practice.length(key)) for key in ("hanger_inset", "hanger_spacing")}
    values["hanger_points_min"] = decimal(practice.number("hanger_points_min"))
    cells = {key: given(key, value) for key, value in values.items()}
    loads = decimal(weight * practice.number("hanger_safety_factor") / rated_n) if rated_n else Decimal(0)
    hangers = Hangers(row, lambda key: cells[key].at(), given("hangs", Decimal(1)), given("loads", loads))
    hangers.count(given("width", Decimal(width)), given("length", Decimal(length)))
    found = {field.key: int(number(field.values[0])) for field in row.fields}
    if found["by_longer"] <= found["by_wider"]:
        return Grid(found["across"], found["longer"])
    return Grid(found["wider"], found["along"])
