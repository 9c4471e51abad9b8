"""Fixing screws into studs or into gypsum only, anchors in masonry, and what they hold."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from estimator.calc.evaluation import worked_out
from estimator.calc.expressions import Expr, Operand, call, lift, whole_down, whole_up
from estimator.catalogue.records import Catalogue, Item, Practice
from estimator.core.units import Nm, inches
from estimator.job.description_pieces import Backing
from estimator.layout.records import Fixing, Frame, Hold, Spread

POUND_FORCE_N = 4.448_221_615_260_5
"""Source: 1 lbf = 0.453 592 37 kg x 9.806 65 m/s2, NIST SP 811, app. B."""
STANDARD_GRAVITY_M_S2 = 9.806_65
"""Source: CGPM 1901, NIST SP 811, app. B."""


@dataclass(frozen=True, slots=True)
class Behind:
    """What a treatment's frames are fixed to.

    Attributes:
        gypsum: all layers together, 0 on masonry.
        studs: spacing, centre to centre.
        first: centre of the first stud from the wall's left end (or the floor); None where it is not known.
        upright: the studs stand.
    """

    masonry: bool
    gypsum: Nm
    studs: Nm
    first: Nm | None
    upright: bool


@dataclass(frozen=True, slots=True)
class Screw:
    """The screw chosen: its price-list key, bite in the stud and how far it passes the stud's face."""

    item: Item
    bite: Nm
    past_face: Nm


def behind(backing: Backing, practice: Practice) -> Behind:
    """Return the backing of a treatment, the shop's values where the job gives none."""
    if backing.kind == "masonry":
        return Behind(masonry=True, gypsum=0, studs=0, first=None, upright=True)
    sheet = backing.thickness or practice.length("backing_gypsum_thickness")
    spacing = backing.studs or practice.length("backing_stud_spacing")
    upright = backing.direction == "vertical"
    return Behind(False, backing.layers * sheet, spacing, backing.first_stud, upright)  # noqa: FBT003 - field


def choose_screw(sizes: Sequence[Item], through: Nm, least_bite: Nm) -> Screw:
    """Return the shortest screw that bites at least `least_bite` past `through`; the longest where none does.

    Args:
        sizes: rows of the price list, each with a length.
        through: member and gypsum together.
        least_bite: length of thread wanted in the stud.
    """
    by_length = sorted(sizes, key=lambda i: (i.length or 0, i.key))
    biting = [i for i in by_length if (i.length or 0) - through >= least_bite]
    item = biting[0] if biting else by_length[-1]
    past = max(0, (item.length or 0) - through)
    return Screw(item, past, past)


def withdrawal_n(gravity: float, diameter: Nm, thread: Nm) -> float:
    """Return the reference withdrawal design value of a wood screw in side grain, newtons.

    W = 2850 G^2 D pounds for each inch of thread in the wood, D in inches; no adjustment factors.

    Source: NDS 2018, section 12.2.2, equation 12.2-2, table 12.2B.

    Args:
        gravity: specific gravity of the wood, oven dry.
        diameter: of the screw, nm.
        thread: length of thread in the wood, nm.
    """
    return 2850 * gravity**2 * inches(diameter) * inches(thread) * POUND_FORCE_N


def weight_n(mass_kg: float) -> float:
    """Return the weight of a mass, newtons."""
    return mass_kg * STANDARD_GRAVITY_M_S2


def studs_crossed(length: Operand, lead: Operand, pitch: Operand) -> Expr:
    """Return how many studs a pitch apart cross a length, a member's own or that of a whole frame."""
    return call("MAX", whole_down((lift(length) + lead) / pitch), 0)


def set_evenly(length: Operand, edge: Operand, spacing: Operand) -> Expr:
    """Return how many fixings no further apart than `spacing` a length takes, one at `edge` from each end."""
    return call("MAX", whole_up((lift(length) - 2 * lift(edge)) / spacing), 1) + 1


def crossings(length: Nm, spread: Spread) -> tuple[Nm, ...]:
    """Return where studs cross a member, from its start: about its middle where no stud's place is known."""
    count = int(worked_out(studs_crossed, *map(Decimal, (length, spread.lead, spread.pitch))))
    first = (length - (count - 1) * spread.pitch) // 2 if spread.first is None else spread.first
    return tuple(first + k * spread.pitch for k in range(count))


def even(length: Nm, spacing: Nm, edge: Nm) -> tuple[Nm, ...]:
    """Return places no further apart than `spacing`, one near each end; at least two."""
    gaps = int(worked_out(set_evenly, *map(Decimal, (length, edge, spacing)))) - 1
    return tuple(edge + k * max(length - 2 * edge, 0) // gaps for k in range(gaps + 1))


def fixings(frame: Frame, backing: Behind, catalogue: Catalogue) -> tuple[Fixing, ...]:
    """Return the fixings of a wall frame.

    Through both rails into every stud behind them (through the uprights, where the studs lie level); where
    no stud is certain, through the rails into the gypsum at the shop's spacing; on masonry by anchors.
    """
    practice, own = catalogue.practice, spread(frame, backing)
    least = practice.length("fixing_bite_min")
    evenly = even(frame.width, practice.length("fixing_spacing"), own.edge)
    places = _stud_places(frame, own) if own.pitch else _on_rails(frame, evenly)
    holds: Hold = "stud" if own.pitch else "masonry" if backing.masonry else "board"
    choice = "product_anchor" if backing.masonry else "product_fixing_screw"
    sizes = catalogue.sizes(practice.choice(choice))
    screw = choose_screw(sizes, frame.depth + backing.gypsum, 0 if holds == "board" else least)
    bite, past = screw.bite * (holds != "board"), screw.past_face * (holds != "masonry")
    return tuple(Fixing(frame.name, x, y, screw.item.key, holds, bite, past) for x, y in places)


def spread(frame: Frame, backing: Behind) -> Spread:
    """Return how the fixings of a wall frame are spread: on studs, or evenly where none is certain."""
    thickness = frame.members[0].thickness
    if not backing.masonry:
        on_studs = _on_studs(frame, backing, thickness // 2)
        if crossings(frame.height if on_studs.upward else frame.width, on_studs):
            return on_studs
    return Spread(0, None, thickness, upward=False)


def _on_studs(frame: Frame, backing: Behind, edge: Nm) -> Spread:
    upward = not backing.upright
    if backing.first is None:
        return Spread(backing.studs, None, edge, upward)
    start = frame.placement.z if upward else frame.placement.x
    return Spread(backing.studs, edge + (backing.first - start - edge) % backing.studs, edge, upward)


def _on_rails(frame: Frame, xs: Sequence[Nm]) -> list[tuple[Nm, Nm]]:
    half = frame.members[0].thickness // 2
    return [(x, y) for y in (half, frame.height - half) for x in xs]


def _stud_places(frame: Frame, own: Spread) -> list[tuple[Nm, Nm]]:
    if not own.upward:
        return _on_rails(frame, crossings(frame.width, own))
    uprights = [m for m in frame.members if m.upright]
    return [(m.x + m.thickness // 2, z) for m in uprights for z in crossings(frame.height, own)]


def holding_n(found: Sequence[Fixing], gravity: float, catalogue: Catalogue) -> float:
    """Return what a frame's stud screws and anchors hold in withdrawal, newtons; gypsum counts as nothing.

    Screws by their reference value, anchors by the price list's rated load.
    """
    items = [(f, catalogue.by_key[f.screw]) for f in found]
    studs = sum(withdrawal_n(gravity, i.thickness or 0, f.bite) for f, i in items if f.holds_in == "stud")
    return studs + sum(i.rated_load_n or 0.0 for f, i in items if f.holds_in == "masonry")
