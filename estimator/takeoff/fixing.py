"""How many fixings each frame on a wall takes, counted again for whatever size the office gives it.

Studs cross a rail (or an upright, where they lie level) a pitch apart: with the first centre that a screw may
go into known, floor((length - edge - first) / pitch) + 1 of them; with no stud's place known, floor(length /
pitch) cross it wherever they are. Where none is certain, and on masonry, fixings are set evenly.
"""

from collections.abc import Sequence
from decimal import Decimal

from estimator.calc.expressions import find, find_in, if_
from estimator.calc.tables import Draft, Table
from estimator.core.units import Measures
from estimator.layout.fixings import set_evenly, studs_crossed
from estimator.layout.records import Frame


def fixing_counts(
    frames: Sequence[Frame], tables: tuple[Table, Table], practice: Table, units: Measures
) -> Table:
    """Return the points of fixing of every frame that is screwed to a wall, live from its size.

    Args:
        frames: of the layout; those that stand or hang are passed over.
        tables: the frame schedule, and what each frame needs.
        practice: the shop's practice.
        units: the job's units.
    """
    schedule, work = tables
    held = [(f.name, f.spread) for f in frames if f.spread]
    table = Draft("fixings", "Fixings of each frame on a wall")
    key = table.names([name for name, _ in held], "Frame")
    spreads, small = [s for _, s in held], units.small
    side = table.label("side", "Along its", ["height" if s.upward else "width" for s in spreads])
    even = table.decided("even", "Set evenly (1 = yes)", "", [Decimal(not s.pitch) for s in spreads], 0)
    level = [Decimal(bool(s.pitch and s.upward)) for s in spreads]
    through = table.decided("through", "Through the uprights (1 = yes)", "", level, 0)
    edge = table.decided("edge", "Kept from its end", small, [units.length(s.edge) for s in spreads], 4)
    pitch = table.decided("pitch", "Stud pitch", small, [units.length(s.pitch) for s in spreads], 4)
    leads = [units.length(s.lead) for s in spreads]
    lead = table.decided("lead", "Added for the first stud", small, leads, 4)
    sizes = (schedule["width"], schedule["height"])
    along = table.formula("along", "Length", small, find_in(sizes, schedule["key"], key, side))
    uprights = find(work["uprights"], work["key"], key)
    lines = table.formula("rows", "Members", "ea", if_(through.eq(1), uprights, 2), places=0)
    spread_evenly = set_evenly(along, edge, practice["fixing_spacing"].at())
    on_studs = studs_crossed(along, lead, pitch)
    apart = table.formula("apart", "Set evenly in each", "ea", if_(even.eq(1), spread_evenly, 0), places=0)
    crossed = table.formula("crossed", "Studs crossed by each", "ea", if_(even.eq(1), 0, on_studs), places=0)
    table.formula("points", "Fixings", "ea", lines * (apart + crossed), places=0)
    return table.table()
