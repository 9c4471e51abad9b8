"""From the layout to the room's sound: what it is bare, what the frames absorb, who hears what.

Walls are net of openings and bulkheads. A bulkhead's front stands for the wall behind it and its underside
for the ceiling above it; front and free ends have the ceiling's finish.

What a frame covers is taken away before the frame is added; of its face only the board between the members
absorbs. A corner trap counts as a flat panel on the left of its two walls; nothing is claimed for its depth.
What hangs or stands in the room counts both faces, less the stated reduction, without what a wall behind it
would add.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

from estimator.acoustics.absorber import Absorption, Layer, Makeup, absorb, flow_resistivity, measured
from estimator.acoustics.ratings import OCTAVES_HZ, Six, six
from estimator.acoustics.reflections import CEILING, FLOOR, Panel, Point, ReflectingRoom, ReflectingWall
from estimator.acoustics.report import Listening, RoomReport, room_report
from estimator.acoustics.room import (
    AXES,
    Body,
    Mode,
    Patch,
    RoomModel,
    Shares,
    Surface,
    both_faces,
    facing,
    lowest,
)
from estimator.acoustics.smallest import Offer
from estimator.acoustics.targets import own_target, target_for
from estimator.catalogue.records import Catalogue, Item
from estimator.catalogue.references import Finish
from estimator.core.errors import Problem, refuse
from estimator.core.units import METRE, metres
from estimator.job.description import Job
from estimator.job.description_pieces import PIECES
from estimator.job.description_room import Point as JobPoint
from estimator.job.description_room import Room
from estimator.layout.plan import PlanWall, RoomPlan
from estimator.layout.records import Cavity, Frame, Layout

Finishes = Mapping[str, Finish]
SQUARE_METRE = METRE * METRE
OPENING_FINISH = {"window": "glass-window", "door": "door-wood"}
"""What windows and doors are taken for; vents, heaters, outlets and switches stay wall."""
SIDES_OF_A_BOX = 4
SQUARE_DEG = 90.0
MODES_LISTED = 8
"""How many of the lowest modes are listed: common practice, no source."""
COVERABLE = 0.8
"""Part of a wall that panels can cover beside doors, outlets and edges: common practice, no source."""


def _finish(where: str, key: str, table: Finishes) -> Finish:
    if key not in table:
        raise refuse(where, f"the absorption table has no {key!r}", f"Known: {', '.join(sorted(table))}.")
    return table[key]


def _wall_finish(wall: PlanWall, table: Finishes) -> Finish:
    return _finish(f"room.wall {wall.name}", wall.finish, table)


def _surface(name: str, area_nm2: int, finish: Finish, shares: Shares) -> Surface:
    said = f"{finish.description}: {finish.source}"
    return Surface(name, area_nm2 / SQUARE_METRE, finish.alpha, shares, said)


def _across(wall: PlanWall) -> Shares:
    return facing((float(wall.end[1] - wall.start[1]), float(wall.start[0] - wall.end[0]), 0.0))


def _bulkheads(plan: RoomPlan, ceiling: Finish) -> Iterator[tuple[str, Surface]]:
    """Yield the front and the free ends of every bulkhead, each with the wall it takes the place of."""
    walls = {w.name: w for w in plan.walls}
    for drop in plan.drops:
        wall, high = walls[drop.wall], plan.height - drop.underside
        x, y, z = _across(wall)
        yield wall.name, _surface(f"bulkhead {drop.name}", drop.width * high, ceiling, (x, y, z))
        free = (drop.x > 0) + (drop.x + drop.width < wall.length)
        if free:
            yield "", _surface(f"bulkhead {drop.name}, ends", free * drop.depth * high, ceiling, (y, x, z))


def _openings(layout: Layout, table: Finishes) -> Iterator[tuple[str, Surface]]:
    walls = {w.name: w for w in layout.room.walls}
    for opening in layout.openings:
        if opening.kind in OPENING_FINISH:
            finish = _finish(opening.name, OPENING_FINISH[opening.kind], table)
            area = opening.width * opening.height
            yield opening.wall, _surface(opening.called, area, finish, _across(walls[opening.wall]))


def room_before(job: Job, layout: Layout, catalogue: Catalogue) -> RoomModel:
    """Return the room before treatment.

    Raises:
        InputError: a finish that the absorption table does not have.
    """
    plan, table = layout.room, catalogue.references.finishes
    ceiling = _finish("room.ceiling", job.room.ceiling, table)
    apart = [*_openings(layout, table), *_bulkheads(plan, ceiling)]
    gone_m2: dict[str, float] = defaultdict(float)
    for on, surface in apart:
        gone_m2[on] += surface.area_m2
    whole = [_surface(w.name, w.length * w.height, _wall_finish(w, table), _across(w)) for w in plan.walls]
    walls = [replace(s, area_m2=max(s.area_m2 - gone_m2[s.name], 0.0)) for s in whole]
    flat = round(plan.floor_area_m2 * SQUARE_METRE)
    floor = _surface(FLOOR, flat, _finish("room.floor", job.room.floor, table), AXES["z"])
    surfaces = (*walls, floor, _surface(CEILING, flat, ceiling, AXES["z"]), *(s for _, s in apart))
    return RoomModel(plan.volume_m3, tuple(s for s in surfaces if s.area_m2 > 0))


@dataclass(frozen=True, slots=True, order=True)
class PanelBuild:
    """What fills a cavity and what covers it; equal ones absorb alike."""

    board: str
    layers: int
    gap_m: float
    fabric: str


def _build(frame: Frame, cavity: Cavity) -> PanelBuild:
    """Return what fills a frame's cavity, its cloth that of the frame's first face.

    The gap of a piece that hangs or stands free has no wall behind it and does not count. A solid trap's
    stack counts as one board on a wall: nothing is claimed for its depth.
    """
    fabric = frame.faces[0].fabric if frame.faces else ""
    if cavity.stacked:
        return PanelBuild(cavity.board, 1, 0.0, fabric)
    gap_m = metres(cavity.gap) if frame.placement.covers else 0.0
    return PanelBuild(cavity.board, cavity.layers, gap_m, fabric)


def _between(frame: Frame) -> int:
    """Return the area of a frame's front that its members leave, nm2; cleats on the wall lie behind them."""
    members = sum(m.length * m.thickness for m in frame.members if m.role != "brace")
    return frame.width * frame.height - members


def _resistivity(board: Item) -> float:
    if board.resistivity_pa_s_m2 is not None:
        return board.resistivity_pa_s_m2
    if board.density_kg_m3 is None:
        fix = "Give airflow resistivity or density in the price list."
        raise refuse(board.key, "nothing tells what this board absorbs", fix)
    return flow_resistivity(board.density_kg_m3)


@lru_cache(maxsize=64)
def _modelled(makeup: Makeup) -> Absorption:
    return absorb(makeup)


def _absorption(made: PanelBuild, catalogue: Catalogue) -> Absorption:
    """Return what a build absorbs on a hard wall: the measured row of its board, else the model.

    The row counts for one layer without a gap, as it was measured. Without a flow resistance in the price
    list the cloth is taken as open.
    """
    board = catalogue.sizes(made.board)[0]
    if board.alpha is not None and made.layers == 1 and not made.gap_m:
        return measured(board.alpha, "on a hard wall", board.alpha_source)
    thickness = metres(board.thickness or 0) * made.layers
    cloth = catalogue.sizes(made.fabric)[0].cloth_pa_s_m if made.fabric else None
    return _modelled(Makeup((Layer(thickness, _resistivity(board)),), made.gap_m, cloth or 0.0))


@dataclass(frozen=True, slots=True)
class PanelFace:
    """The board of a frame's face: area, m2, mean coefficient per octave, and where that comes from."""

    area_m2: float
    alpha: Six
    origin: str


def _face(frame: Frame, found: Mapping[PanelBuild, Absorption]) -> PanelFace:
    """Return the board of a frame's face as one absorber.

    Members take no part: what lies between them absorbs. Of a solid trap that is all of its front but them.
    """
    areas: dict[PanelBuild, float] = defaultdict(float)
    for cavity in frame.cavities:
        area = _between(frame) if cavity.stacked else cavity.width * cavity.height
        areas[_build(frame, cavity)] += area / SQUARE_METRE
    total = sum(areas.values())
    if not total:
        return PanelFace(0.0, (0.0,) * 6, "")
    mean = [sum(a * found[b].alpha[i] for b, a in areas.items()) / total for i in range(len(OCTAVES_HZ))]
    return PanelFace(total, six(mean), "; ".join(sorted({found[b].origin for b in areas})))


def _patch(frame: Frame, board: PanelFace) -> Patch:
    """A frame's whole face; its coefficient is its board's, spread over the face with the members."""
    area = frame.width * frame.height / SQUARE_METRE
    alpha = six([a * board.area_m2 / area for a in board.alpha])
    return Patch(frame.name, frame.placement.covers, area, alpha, board.origin)


def fitted(patches: Iterable[Patch], room: RoomModel) -> tuple[tuple[Patch, ...], tuple[Problem, ...]]:
    """Return the patches, made smaller where they pass their surface, and a warning for each such surface."""
    made, problems = tuple(patches), []
    for surface in room.surfaces:
        total = sum(p.area_m2 for p in made if p.on == surface.name)
        if total > surface.area_m2:
            by = surface.area_m2 / total
            what = f"{total:.2f} m2 of panels on {surface.area_m2:.2f} m2 of it; only that much is counted"
            problems.append(Problem(surface.name, what, "Check its openings.", severity="warning"))
            made = tuple(replace(p, area_m2=p.area_m2 * by) if p.on == surface.name else p for p in made)
    return made, tuple(problems)


@dataclass(frozen=True, slots=True)
class RoomTreatment:
    """What a job's frames do to its room.

    Attributes:
        room: before treatment.
        patches: on its surfaces.
        bodies: what hangs or stands in it.
        faces: the absorber that each frame's face is, by the frame's name.
        reduction: part of what two faces absorb that is lost.
        problems: warnings.
    """

    room: RoomModel
    patches: tuple[Patch, ...]
    bodies: tuple[Body, ...]
    faces: Mapping[str, PanelFace]
    reduction: float
    problems: tuple[Problem, ...]


def treatment(job: Job, layout: Layout, catalogue: Catalogue) -> RoomTreatment:
    """Return what the frames put on the room's surfaces, and what they hang or stand in the room.

    Raises:
        InputError: a board that nothing is known of, or an unknown finish.
    """
    builds = sorted({_build(f, c) for f in layout.frames for c in f.cavities})
    found = {made: _absorption(made, catalogue) for made in builds}
    doubts = [replace(p, where=made.board) for made, a in found.items() for p in a.problems]
    room = room_before(job, layout, catalogue)
    faces = {f.name: _face(f, found) for f in layout.frames}
    covering = (_patch(f, faces[f.name]) for f in layout.frames if f.placement.covers)
    patches, crowded = fitted(covering, room)
    less = 1 - catalogue.practice.number("two_faced_reduction")
    hung = [(f.name, faces[f.name]) for f in layout.frames if not f.placement.covers]
    bodies = tuple(both_faces(name, face.area_m2, face.alpha, less, face.origin) for name, face in hung)
    return RoomTreatment(room, patches, bodies, faces, less, (*dict.fromkeys(doubts), *crowded))


def _point(point: JobPoint) -> Point:
    """A job's point, y into the room, as one of the plan, where the room lies to the right of wall one."""
    return (metres(point.x), -metres(point.y), metres(point.z))


def _panel(frame: Frame, face: PanelFace) -> Panel:
    at = frame.placement
    left, bottom, width, height = (metres(v) for v in (at.x, at.z, frame.width, frame.height))
    return Panel(frame.name, at.wall, left, bottom, width, height, face.alpha)


def _reflecting(wall: PlanWall, table: Finishes) -> ReflectingWall:
    (x1, y1), (x2, y2) = ((x / METRE, y / METRE) for x, y in (wall.start, wall.end))
    return ReflectingWall(wall.name, (x1, y1), (x2, y2), metres(wall.height), _wall_finish(wall, table).alpha)


def _listening(
    room: Room, layout: Layout, faces: Mapping[str, PanelFace], table: Finishes
) -> Listening | None:
    if room.listening is None or not room.loudspeakers:
        return None
    on_walls = [f for f in layout.frames if f.placement.wall and f.placement.covers == f.placement.wall]
    mirrors = ReflectingRoom(
        walls=tuple(_reflecting(wall, table) for wall in layout.room.walls),
        height_m=metres(layout.room.height),
        floor_alpha=_finish("room.floor", room.floor, table).alpha,
        ceiling_alpha=_finish("room.ceiling", room.ceiling, table).alpha,
        panels=tuple(_panel(f, faces[f.name]) for f in on_walls),
    )
    return Listening(mirrors, tuple((s.name, _point(s)) for s in room.loudspeakers), _point(room.listening))


def _offers(patches: tuple[Patch, ...], room: RoomModel, layout: Layout) -> tuple[Offer, ...]:
    """More of the job's largest panel on every wall of the plan."""
    if not patches:
        return ()
    alpha = max(patches, key=lambda p: p.area_m2).alpha
    walls = {w.name for w in layout.room.walls}
    return tuple(Offer(s.name, COVERABLE * s.area_m2, alpha) for s in room.surfaces if s.name in walls)


def _assumed(layout: Layout, reduction: float) -> Iterator[str]:
    kinds = {f.kind for f in layout.frames}
    if any(o.kind == "window" for o in layout.openings):
        yield "Windows are taken as plain glass."
    if layout.room.drops:
        yield "Bulkheads have the ceiling's finish; first reflections leave them out."
    hung = {f.kind for f in layout.frames if not f.placement.covers}
    if hung:
        words = " and ".join(PIECES[kind].words for kind in PIECES if kind in hung)
        yield f"{words.capitalize()}: both faces less {reduction:.0%}; first reflections leave them out."
    yield from (kind.heard for key, kind in PIECES.items() if kind.heard and key in kinds)


def _modes(plan: RoomPlan, c: float) -> tuple[Mode, ...]:
    """Return the lowest modes of a room of four square corners without bulkheads; none of others."""
    if len(plan.walls) != SIDES_OF_A_BOX or plan.drops or any(w.turn_deg != SQUARE_DEG for w in plan.walls):
        return ()
    size_m = metres(plan.walls[0].length), metres(plan.walls[1].length), metres(plan.height)
    return lowest(size_m, MODES_LISTED, c)


def report_of(job: Job, layout: Layout, catalogue: Catalogue, *, seek: bool = False) -> RoomReport:
    """Return what the treatment of a job does for its room, estimated.

    Args:
        job: the room as described.
        layout: what is built in it.
        catalogue: boards, cloth and the shop's practice.
        seek: also seek the smallest area that meets the target, which takes longer.

    Raises:
        InputError: a loudspeaker or listening position outside the room, or a board nothing is known of.
    """
    made, own, tables = treatment(job, layout, catalogue), job.room.target_s, catalogue.references
    room = made.room
    report = room_report(
        room=room,
        patches=made.patches,
        bodies=made.bodies,
        target=target_for(job.room.use, room.volume_m3, tables) if own is None else own_target(own),
        listening=_listening(job.room, layout, made.faces, tables.finishes),
        offers=_offers(made.patches, room, layout) if seek else (),
        display=job.header.display,
    )
    problems = (*made.problems, *report.problems)
    notes = (*report.notes, *_assumed(layout, made.reduction))
    return replace(report, notes=notes, problems=problems, modes=_modes(layout.room, room.speed_m_s))
