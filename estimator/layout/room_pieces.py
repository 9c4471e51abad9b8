"""Pieces that no wall carries: traps in corners, boxes in recesses, clouds on hangers, screens on feet.

Hangers are counted by one rule, for the layout and for whatever size the office gives a cloud: they stand
no further apart than the shop says, along and across. Where the busiest would carry more than its rated
load with the shop's safety factor, or the cloud has fewer than the shop's least, rows are added along it,
or hangers in each row, whichever takes fewer in all.

Source: tributary area (statics): of n hangers in an even row the busiest carries 1 / (n - 1), at most a
half.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from decimal import Decimal

from estimator.calc.evaluation import number
from estimator.calc.expressions import Expr, Field, call, if_, whole_up
from estimator.calc.tables import Draft
from estimator.catalogue.records import Catalogue, Item
from estimator.core.errors import Problem
from estimator.core.money import decimal
from estimator.core.units import Nm, format_length, metres
from estimator.job.description import Job
from estimator.job.description_pieces import Cloud, Corner, Recess, Screen
from estimator.layout.corner_places import ceiling_over, chord, triangle_sheet
from estimator.layout.fixings import STANDARD_GRAVITY_M_S2, choose_screw, even, set_evenly, weight_n
from estimator.layout.pieces import FREE, FrameWanted, fixed, weighed
from estimator.layout.plan import RoomPlan, drop_corners
from estimator.layout.records import (
    NOWHERE,
    Cavity,
    Fixing,
    Frame,
    Made,
    Meets,
    Member,
    Placement,
    Spread,
    hung_kg,
)
from estimator.layout.shapes import SIDES, Side, area, clip
from estimator.layout.sites import Found, found


def corner(trap: Corner, wanted: FrameWanted) -> Made:
    """Return a corner trap."""
    plan, material, display = wanted.plan, wanted.material, wanted.display
    wall = next(w for w in plan.walls if w.name == trap.between[0])
    turn, casing, over = wall.turn_deg, material.casing, ceiling_over(trap, plan)
    height, across = trap.height or over - trap.bottom, chord(trap.leg, turn)
    meets: dict[Side, Meets] = {
        "left": "wall", "right": "wall", "bottom": "free" if trap.bottom else "floor",
        "top": _overhead(trap.bottom + height, over, plan.height),
    }  # fmt: skip
    size = (across - 2 * casing, height - 2 * casing)
    made = wanted.frame(size, meets, Placement("", 0, trap.bottom + casing, wall.name))
    reason = ""
    if trap.kind == "solid":
        made, reason = _solid(made, trap, turn, wanted), "a stack of triangles behind it; "
    made = _cleated(made, wanted.catalogue)
    strips = tuple(
        replace(s, bevel_deg=90.0 - turn / 2, girth=s.thickness + s.width)
        if s.side in {"left", "right"}
        else s
        for s in wanted.strips(made)
    )
    reason = (
        f"{trap.name}: across a corner of {turn:g} degrees, legs {format_length(trap.leg, display)}: "
        f"{reason}{format_length(across, display)} from wall to wall."
    )
    return Made((made,), strips, (), (reason,))


def _overhead(top: Nm, over: Nm, ceiling: Nm) -> Meets:
    if top < over:
        return "free"
    return "ceiling" if over == ceiling else "bulkhead"


def _solid(made: Frame, trap: Corner, turn_deg: float, wanted: FrameWanted) -> Frame:
    """Return the face frame with its boards as a stack of triangles, two cut from one rectangle."""
    layers = made.height // wanted.material.board_thickness
    width, height = triangle_sheet(trap.leg, turn_deg)
    stack = Cavity(
        f"{made.name} triangles, two a piece", 0, 0, width, height, wanted.material.fill.board,
        layers=-(-layers // 2), gap=0, stacked=True,
    )  # fmt: skip
    return weighed(replace(made, cavities=(stack,)), wanted.catalogue)


def _cleated(made: Frame, catalogue: Catalogue) -> Frame:
    """Return the frame with a cleat on either wall that it is screwed to; the cleats hold in gypsum only."""
    practice, stile = catalogue.practice, next(m for m in made.members if m.role == "stile")
    cleats = tuple(
        Member(
            f"{made.name} {side} cleat", "brace", stile.product, stile.length, stile.thickness, stile.depth,
            x, stile.thickness, upright=True,
        )
        for side, x in (("left", 0), ("right", made.width - stile.thickness))
    )  # fmt: skip
    screws = catalogue.sizes(practice.choice("product_fixing_screw"))
    gypsum = practice.length("backing_gypsum_thickness")
    into_wall = choose_screw(screws, stile.thickness + gypsum, 0)
    into_cleat = choose_screw(screws, made.depth, practice.length("fixing_bite_min"))
    spots = even(stile.length, practice.length("fixing_spacing"), stile.thickness)
    found = []
    for x in (stile.thickness // 2, made.width - stile.thickness // 2):
        for y in spots:
            z = y + stile.thickness
            found.append(Fixing(made.name, x, z, into_wall.item.key, "board", 0, into_wall.past_face))
            found.append(Fixing(made.name, x, z, into_cleat.item.key, "frame", into_cleat.bite, 0))
    along = Spread(0, None, 2 * stile.thickness, upward=True)
    both = replace(made, members=(*made.members, *cleats), fixings=tuple(found), spread=along)
    return weighed(both, catalogue)


def _place(box: Recess, job: Job) -> Found:
    """Return the window that a box fills, with its wall."""
    hosts = {t.name: t.on for t in job.walls}
    wall = hosts.get(box.wall, box.wall)
    return next(f for f in found(job) if f.wall == wall and f.opening.name == box.opening)


def blocked_ways(job: Job) -> Iterator[Problem]:
    """Yield why boxes cannot be where the job says: in a way out."""
    for (kind, at), box in job.each(Recess):
        if _place(box, job).opening.egress:
            what = f"{box.opening} is a way out, and {box.name} would fill it"
            fix = "Leave it open, or settle it with the local authority."
            yield Problem(f"{kind}[{at}].opening", what, fix)


def recess(box: Recess, wanted: FrameWanted) -> Made:
    """Return the box of a recess."""
    place = _place(box, wanted.job)
    opening, clear = place.opening, wanted.catalogue.practice.length("recess_clearance")
    made = wanted.frame(
        (opening.width - 2 * clear, opening.height - 2 * clear), dict.fromkeys(SIDES, "casing"),
        Placement(place.wall, opening.left + clear, opening.bottom + clear, place.called), bare=True,
    )  # fmt: skip
    depth, room = (format_length(deep, wanted.display) for deep in (made.depth, box.depth))
    reason = f"{box.name}: a box {depth} deep in a recess {room} deep."
    return Made((made,), (), (wanted.held(),), (reason,), tuple(_watch(box, made, wanted)))


def _watch(box: Recess, made: Frame, wanted: FrameWanted) -> Iterator[Problem]:
    if made.depth > box.depth:
        what = f"{box.name} is deeper than its recess and stands out into the room"
        yield Problem(box.name, what, "Choose a thinner make-up.", severity="warning")
    rated, hooks = wanted.holder.rated_load_n, wanted.held().count
    needed = weight_n(made.mass_kg) * wanted.catalogue.practice.number("hanger_safety_factor")
    if rated is not None and hooks * rated < needed:
        what = f"{hooks} hooks of {rated:.0f} N do not hold {box.name} with the shop's safety factor"
        yield Problem(box.name, what, f"It needs {needed:.0f} N in all.", severity="warning")


def tip_factor(mass_kg: float, reach_m: float, push_n: float, height_m: float) -> float:
    """Return how many times the righting moment is the overturning one: m g (reach / 2) / (push height).

    Source: moments about the edge that it tips over (statics): the weight acts half the reach from it.

    Args:
        mass_kg: of the screen with its feet.
        reach_m: of a foot, front to back, the screen in its middle.
        push_n: level push.
        height_m: of the push above the floor.
    """
    overturning = push_n * height_m
    return weight_n(mass_kg) * reach_m / 2 / overturning if overturning else float("inf")


def screen(piece: Screen, wanted: FrameWanted) -> Made:
    """Return a screen that stands on its own."""
    made = wanted.frame((piece.width, piece.height), FREE, NOWHERE)
    strips, feet = wanted.strips(made), wanted.held()
    mass = hung_kg(made, strips, wanted.catalogue)
    stands = _Stand(made.name, mass, metres(made.height + 2 * wanted.material.casing), feet.count)
    reason, problems = _stability(stands, wanted)
    return Made((made,), strips, (feet,), (reason,), tuple(problems))


class _Stand:
    """A screen on given feet."""

    def __init__(self, name: str, mass_kg: float, height_m: float, feet: int) -> None:
        self.name, self.mass_kg, self.height_m, self.feet = name, mass_kg, height_m, feet

    def total_kg(self, foot: Item) -> float:
        return self.mass_kg + self.feet * (foot.mass_kg or 0.0)

    def factor(self, foot: Item, push_n: float) -> float:
        return tip_factor(self.total_kg(foot), metres(foot.length or 0), push_n, self.height_m)


def _stability(stand: _Stand, screen: FrameWanted) -> tuple[str, list[Problem]]:
    practice, foot = screen.catalogue.practice, screen.holder
    push, wanted = practice.number("screen_tip_force"), practice.number("screen_tip_factor")
    factor = stand.factor(foot, push)
    reach = format_length(foot.length or 0, screen.display)
    reason = (
        f"{stand.name}: {stand.total_kg(foot):.1f} kg on feet of {reach}, pushed with {push:g} N at its top: "
        f"righting moment {factor:.2f} times the overturning one (wanted {wanted:g})."
    )
    if factor >= wanted:
        return reason, []
    fix = _better(stand, foot, push, wanted, screen.catalogue)
    what = f"{stand.name} tips too easily: with {push:g} N at its top the righting moment is {factor:.2f} "
    what += f"times the overturning one (wanted {wanted:g})"
    return reason, [Problem(stand.name, what, fix, severity="warning")]


def _better(stand: _Stand, foot: Item, push: float, wanted: float, catalogue: Catalogue) -> str:
    serving = sorted(
        (item.length or 0, item.product)
        for item in catalogue.of_kind(foot.kind)
        if stand.factor(item, push) >= wanted
    )
    if serving:
        return f"Feet {serving[0][1]} are long enough."
    needed = wanted * push * stand.height_m * 2 / (metres(foot.length or 1) * STANDARD_GRAVITY_M_S2)
    more = needed - stand.total_kg(foot)
    return f"Add {more:.0f} kg of ballast low down, fix it to a wall, or make it lower."


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


def cloud(piece: Cloud, wanted: FrameWanted) -> Made:
    """Return a frame that hangs below the ceiling."""
    catalogue, name = wanted.catalogue, wanted.name
    underside = wanted.plan.height - piece.drop - wanted.material.depth
    made = wanted.frame((piece.width, piece.length), FREE, Placement("", 0, underside))
    strips, item = wanted.strips(made), wanted.holder
    weight = weight_n(hung_kg(made, strips, catalogue))
    grid = hanger_grid(made.width, made.height, weight, item.rated_load_n, catalogue)
    hangers, share = wanted.held(grid.points), grid.share
    if hangers.number:  # as many as the shop says share it alike
        grid, share = Grid(hangers.count, 1), 1 / hangers.count
    hung = fixed(made, _points(made, grid, catalogue), Fixing(name, 0, 0, item.key, "hanger", 0, 0))
    factor = catalogue.practice.number("hanger_safety_factor")
    load = weight * share
    rated = "not given" if item.rated_load_n is None else f"{item.rated_load_n:.0f} N"
    reason = (
        f"{name}: {weight:.0f} N on {grid.points} hangers, at most {load:.0f} N on one; "
        f"rated {rated}, safety factor wanted {factor:g}."
    )
    watched = _hung_watch(name, load, item.rated_load_n, factor, underside)
    return Made((hung,), strips, (hangers,), (reason,), (*watched, *_hung_place(piece, name, wanted.plan)))


def _hung_place(cloud: Cloud, name: str, plan: RoomPlan) -> Iterator[Problem]:
    """Yield a warning where a cloud whose place is given leaves the room or meets a bulkhead."""
    if cloud.at is None:
        return
    x, y, half, deep = cloud.at.x, -cloud.at.y, cloud.width // 2, cloud.length // 2
    outline = ((x - half, y + deep), (x + half, y + deep), (x + half, y - deep), (x - half, y - deep))
    inside = area(clip([w.start for w in plan.walls], outline))
    if inside < area(outline) * (1 - 1e-9):
        fix = "Move its centre, or turn it."
        yield Problem(name, f"{name} reaches into a wall of the room", fix, severity="warning")
    walls = {w.name: w for w in plan.walls}
    for drop in plan.drops:
        met = area(clip(outline, drop_corners(walls[drop.wall], drop))) > 0
        if met and plan.height - cloud.drop > drop.underside:
            what = f"{name} would hang in bulkhead {drop.name}"
            yield Problem(name, what, "Move its centre, or hang it lower.", severity="warning")


def _points(made: Frame, grid: Grid, catalogue: Catalogue) -> list[tuple[Nm, Nm]]:
    inset = catalogue.practice.length("hanger_inset")

    def spread(length: Nm, count: int) -> list[Nm]:
        if count == 1:
            return [length // 2]
        return [inset + k * (length - 2 * inset) // (count - 1) for k in range(count)]

    return [(x, y) for y in spread(made.height, grid.along) for x in spread(made.width, grid.across)]


def _hung_watch(
    name: str, load: float, rated: float | None, factor: float, underside: Nm
) -> Iterator[Problem]:
    if rated is None:
        what = "the hangers have no rated load, so what they hold is not checked"
        yield Problem(name, what, "Give their rated load in the price list.", severity="warning")
    elif load * factor > rated:
        what = f"a hanger of {name} carries {load:.0f} N and is rated {rated:.0f} N, under {factor:g} times"
        yield Problem(name, what, "Choose a stronger hanger, or divide the cloud.", severity="warning")
    if underside <= 0:
        yield Problem(
            name, f"{name} would hang below the floor", "Make its drop smaller.", severity="warning"
        )
