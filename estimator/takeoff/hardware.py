"""What holds each piece, for whatever size the office gives it: weights, hangers, hooks, feet and screws.

What a foot or a square foot of members, boards, cloth and strips weighs comes from the densities of the
price list, as laid out. Hangers follow the rule of `layout.room_pieces`; screens and recess boxes have the
shop's number. What then carries too much is counted, for a check. Fixings follow the rules of
`layout.fixings`: studs cross a rail (or an upright, where they lie level) a pitch apart: with the first
centre that a screw may go into known, floor((length - edge - first) / pitch) + 1 of them; with no stud's
place known, floor(length / pitch) cross it wherever they are. Where none is certain, and on masonry,
fixings are set evenly.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from estimator.calc.expressions import (
    Expr,
    Field,
    find_in,
    if_,
    lift,
    round_to,
    total_where,
    whole_down,
)
from estimator.calc.tables import Draft, Table
from estimator.catalogue.records import Catalogue
from estimator.core.money import rounded
from estimator.core.units import Measures, converted, metres, plain
from estimator.layout.fixings import set_evenly, studs_crossed, weight_n
from estimator.layout.records import Frame, Layout, Strip, parts_kg, strip_kg
from estimator.layout.room_pieces import Hangers

_PLACES, _SHOWN = 6, 3


@dataclass(frozen=True, slots=True)
class Needs:
    """What each frame needs; the strips, and what each needs."""

    frames: Table
    strips: Table
    strip_work: Table

    def of(self, field: str, key: Field) -> Expr:
        """Return the cell of a frame's row."""
        return self.frames.of(field, key)


def hung(layout: Layout) -> list[Frame]:
    """Return the frames that hangers, hooks or feet belong to, in the order of these."""
    frames = {frame.name: frame for frame in layout.frames}
    return [frames[held.frame] for held in layout.hardware]


def weights(layout: Layout, catalogue: Catalogue, needs: Needs, units: Measures) -> Table:
    """Return the weight of every piece that has hangers, hooks or feet, with its strips, live from its size.

    Args:
        layout: the frames, strips and hardware.
        catalogue: for densities.
        needs: what is live of frames and strips.
        units: the job's units.
    """
    table = Draft("weights", "What each piece that hangs or stands weighs")
    key = table.names([frame.name for frame in hung(layout)], "Frame")
    members, boards, cloth, strips = _rates(table, layout, catalogue, units)

    def newtons(part: str, label: str, expr: Expr) -> Field:
        return table.formula(part, label, "N", expr, places=1)

    run = total_where(needs.strip_work["run"], needs.strips["frame"], key)
    own = newtons("members", "Members", needs.of("member_length", key) * members)
    filling = newtons("boards", "Boards", needs.of("board_area", key) * boards)
    covered = newtons("cloth", "Cloth", needs.of("cloth_area", key) * cloth)
    cased = newtons("strips", "Strips", run * strips)
    newtons("weight", "Weight in all", own + filling + covered + cased)
    return table.table()


def _rates(table: Draft, layout: Layout, catalogue: Catalogue, units: Measures) -> tuple[Field, ...]:
    """Return the columns of what members, boards, cloth and strips of each frame weigh, a unit of each."""
    frames, strips = hung(layout), layout.strips
    run, area = f"N/{units.large}", f"N/{units.area}"
    metres_in, squares_in = _own(units.large, "m"), _own(units.area, "m^2")
    columns = (
        ("members_weigh", "A length of members", run, metres_in, _members),
        ("boards_weigh", "An area of boards", area, squares_in, _boards),
        ("cloth_weighs", "An area of cloth", area, squares_in, _cloth),
    )
    weighed = [
        table.decided(key, label, unit, [_newtons(*of(f, catalogue), per) for f in frames], _SHOWN)
        for key, label, unit, per, of in columns
    ]
    own = [[s for s in strips if s.frame == f.name] for f in frames]
    cased = [_newtons(*_casings(some, catalogue), metres_in) for some in own]
    return (*weighed, table.decided("strips_weigh", "A length of strips", run, cased, _SHOWN))


def _own(unit: str, wanted: str) -> Decimal:
    return converted(Decimal(1), plain(unit), wanted)


def _newtons(mass_kg: float, amount: float, per: Decimal) -> Decimal:
    """Return the weight of `per` metres or square metres of what weighs `mass_kg` for `amount` of them."""
    return rounded(weight_n(mass_kg) / amount * float(per), _PLACES) if amount else Decimal(0)


def _members(frame: Frame, catalogue: Catalogue) -> tuple[float, float]:
    return parts_kg(frame.members, (), (), catalogue), sum(metres(m.length) for m in frame.members)


def _boards(frame: Frame, catalogue: Catalogue) -> tuple[float, float]:
    areas = (metres(c.width) * metres(c.height) * c.layers for c in frame.cavities)
    return parts_kg((), frame.cavities, (), catalogue), sum(areas)


def _cloth(frame: Frame, catalogue: Catalogue) -> tuple[float, float]:
    areas = (metres(f.width + 2 * f.wrap) * metres(f.height + 2 * f.wrap) for f in frame.faces)
    return parts_kg((), (), frame.faces, catalogue), sum(areas)


def _casings(strips: Sequence[Strip], catalogue: Catalogue) -> tuple[float, float]:
    return sum(strip_kg(s, catalogue) for s in strips), sum(metres(s.length) for s in strips)


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
        table.formula(side, side.capitalize(), units.small, schedule.of(side, key))
        for side in ("width", "height")
    )
    columns = Hangers(table, lambda value: practice[value].at(), hangs, loads)
    hangers, shares = columns.count(width, height)
    each: Expr = lift(0)
    for value in dict.fromkeys(filter(None, numbers)):
        each = each + if_(number_by.eq(labels[value]), practice[value].at(), 0)
    number_each = table.formula("number", "The shop's value", "ea", each, places=0)
    own = table.formula("fixed", "The shop's number", "ea", (1 - hangs) * whole_down(number_each), places=0)
    table.formula("pieces", "Hangers, hooks, feet", "ea", hangers + own, places=0)
    over = if_(round_to(loads - shares - own, _LAST_BIT).gt(0), 1, 0)
    table.formula("overloaded", "Carries too much (1 = yes)", "", over, places=0)
    return table.table()


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
    uprights = work.of("uprights", key)
    lines = table.formula("rows", "Members", "ea", if_(through.eq(1), uprights, 2), places=0)
    spread_evenly = set_evenly(along, edge, practice["fixing_spacing"].at())
    on_studs = studs_crossed(along, lead, pitch)
    apart = table.formula("apart", "Set evenly in each", "ea", if_(even.eq(1), spread_evenly, 0), places=0)
    crossed = table.formula("crossed", "Studs crossed by each", "ea", if_(even.eq(1), 0, on_studs), places=0)
    table.formula("points", "Fixings", "ea", lines * (apart + crossed), places=0)
    return table.table()
