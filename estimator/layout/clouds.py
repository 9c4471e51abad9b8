"""Clouds: frames hung flat below the ceiling, their hanger points, and what each hanger carries."""

from collections.abc import Iterator

from estimator.catalogue.records import Catalogue
from estimator.core.errors import Problem
from estimator.core.units import Nm
from estimator.job.description_pieces import Cloud
from estimator.layout.fixings import weight_n
from estimator.layout.hangers import Grid, hanger_grid
from estimator.layout.made import Made
from estimator.layout.pieces import FREE, Wanted, fixed
from estimator.layout.plan import drop_corners
from estimator.layout.polygons import area, clip
from estimator.layout.records import Fixing, Frame, Placement
from estimator.layout.surveyed import RoomPlan
from estimator.layout.weights import hung_kg


def cloud(piece: Cloud, wanted: Wanted) -> Made:
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
    return Made(
        (hung,), strips, (hangers,), (reason,),
        (*_watch(name, load, item.rated_load_n, factor, underside), *_place(piece, name, wanted.plan)),
    )  # fmt: skip


def _place(cloud: Cloud, name: str, plan: RoomPlan) -> Iterator[Problem]:
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


def _watch(name: str, load: float, rated: float | None, factor: float, underside: Nm) -> Iterator[Problem]:
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
