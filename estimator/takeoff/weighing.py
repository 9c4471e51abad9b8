"""What each piece that hangs or stands weighs, live from its size: members, boards, cloth and strips.

What a foot or a square foot of each weighs comes from the densities of the price list, as laid out.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from estimator.calc.expressions import Expr, find, total_where
from estimator.calc.tables import Draft, Field, Table
from estimator.catalogue.records import Catalogue
from estimator.core.money import rounded
from estimator.core.units import Measures, converted, metres, plain
from estimator.layout.fixings import weight_n
from estimator.layout.records import Frame, Layout, Strip
from estimator.layout.weights import parts_kg, strip_kg

_PLACES, _SHOWN = 6, 3


@dataclass(frozen=True, slots=True)
class Needs:
    """What each frame needs; the strips, and what each needs."""

    frames: Table
    strips: Table
    strip_work: Table

    def of(self, field: str, key: Field) -> Expr:
        """Return the cell of a frame's row."""
        return find(self.frames[field], self.frames["key"], key)


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
