"""How many hangers each cloud takes, counted again for whatever size the office gives it; hooks and feet.

Hangers follow the rule of `layout.hangers`; screens and recess boxes have the shop's number. What then
carries too much is counted, for a check.
"""

from decimal import Decimal

from estimator.calc.expressions import Expr, find, if_, lift, round_to, whole_down
from estimator.calc.tables import Draft, Table
from estimator.catalogue.records import Catalogue
from estimator.core.money import rounded
from estimator.core.units import Measures
from estimator.layout.clouds import Hangers
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
    width, height = (
        table.formula(side, side.capitalize(), units.small, find(schedule[side], schedule["key"], key))
        for side in ("width", "height")
    )
    columns = Hangers(table, lambda value: practice[value].at(), hangs, loads)
    hangers, shares = columns.count(width, height)
    each: Expr = lift(0)
    for value in dict.fromkeys(filter(None, numbers)):
        each = each + if_(number_by.eq(labels[value]), practice[value].at(), 0)
    own = table.formula("fixed", "The shop's number", "ea", (1 - hangs) * whole_down(each), places=0)
    table.formula("pieces", "Hangers, hooks, feet", "ea", hangers + own, places=0)
    over = if_(round_to(loads - shares - own, _LAST_BIT).gt(0), 1, 0)
    table.formula("overloaded", "Carries too much (1 = yes)", "", over, places=0)
    return table.table()
