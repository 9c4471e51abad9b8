"""The surveyed room's boundary: walls net of openings and bulkheads, floor and ceiling, with their finishes.

A bulkhead's front stands for the wall behind it and its underside for the ceiling above it; front and free
ends have the ceiling's finish.
"""

from collections.abc import Iterator, Mapping
from dataclasses import replace

from estimator.acoustics.panels import SQUARE_METRE
from estimator.acoustics.reflections import CEILING, FLOOR
from estimator.acoustics.room import AXES, RoomModel, Shares, Surface, facing
from estimator.catalogue.acoustic_tables import Finish
from estimator.catalogue.records import Catalogue
from estimator.core.errors import refuse
from estimator.job.description import Job
from estimator.layout.records import Layout
from estimator.layout.surveyed import Opening, PlanWall, RoomPlan

Finishes = Mapping[str, Finish]
OPENING_FINISH = {"window": "glass-window", "door": "door-wood"}
"""What windows and doors are taken for; vents, heaters, outlets and switches stay wall."""


def finish_of(where: str, key: str, table: Finishes) -> Finish:
    """Return a finish of the absorption table.

    Raises:
        InputError: no such key.
    """
    if key not in table:
        raise refuse(where, f"the absorption table has no {key!r}", f"Known: {', '.join(sorted(table))}.")
    return table[key]


def _surface(name: str, area_nm2: int, finish: Finish, shares: Shares) -> Surface:
    said = f"{finish.description}: {finish.source}"
    return Surface(name, area_nm2 / SQUARE_METRE, finish.alpha, shares, said)


def _across(wall: PlanWall) -> Shares:
    return facing((float(wall.end[1] - wall.start[1]), float(wall.start[0] - wall.end[0]), 0.0))


def _along(wall: PlanWall) -> Shares:
    x, y, z = _across(wall)
    return (y, x, z)


def _bulkheads(plan: RoomPlan, ceiling: Finish) -> Iterator[tuple[str, Surface]]:
    walls = {w.name: w for w in plan.walls}
    for drop in plan.drops:
        wall, high = walls[drop.wall], plan.height - drop.underside
        yield wall.name, _surface(f"bulkhead {drop.name}", drop.width * high, ceiling, _across(wall))
        free = (drop.x > 0) + (drop.x + drop.width < wall.length)
        if free:
            name = f"bulkhead {drop.name}, ends"
            yield "", _surface(name, free * drop.depth * high, ceiling, _along(wall))


def _openings(
    openings: tuple[Opening, ...], plan: RoomPlan, table: Finishes
) -> Iterator[tuple[str, Surface]]:
    walls = {w.name: w for w in plan.walls}
    for opening in openings:
        if opening.kind in OPENING_FINISH:
            finish = finish_of(opening.name, OPENING_FINISH[opening.kind], table)
            area = opening.width * opening.height
            yield opening.wall, _surface(opening.name, area, finish, _across(walls[opening.wall]))


def _wall(wall: PlanWall, gone_m2: float, table: Finishes) -> Surface:
    finish = finish_of(f"room.wall {wall.name}", wall.finish, table)
    whole = _surface(wall.name, wall.length * wall.height, finish, _across(wall))
    return replace(whole, area_m2=max(whole.area_m2 - gone_m2, 0.0))


def room_before(job: Job, layout: Layout, catalogue: Catalogue) -> RoomModel:
    """Return the room before treatment.

    Raises:
        InputError: a finish that the absorption table does not have.
    """
    plan, room, table = layout.room, job.room, catalogue.references.finishes
    ceiling = finish_of("room.ceiling", room.ceiling, table)
    apart = [*_openings(layout.openings, plan, table), *_bulkheads(plan, ceiling)]
    walls = [_wall(w, sum(s.area_m2 for on, s in apart if on == w.name), table) for w in plan.walls]
    flat = round(plan.floor_area_m2 * SQUARE_METRE)
    floor = _surface(FLOOR, flat, finish_of("room.floor", room.floor, table), AXES["z"])
    flats = (floor, _surface(CEILING, flat, ceiling, AXES["z"]))
    surfaces = (*walls, *flats, *(s for _, s in apart))
    return RoomModel(plan.volume_m3, tuple(s for s in surfaces if s.area_m2 > 0))
