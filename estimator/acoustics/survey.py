"""From the layout to the room as the formulas see it: surfaces, treatment, listening positions.

What a frame covers is taken away before the frame is added. A flat corner trap, a recess box and a frame
on a wall count with the absorption of their face as if flush; a solid corner trap likewise, with nothing
claimed for its depth. Screens and clouds count both faces, less the shop's stated reduction.
"""

from collections.abc import Mapping
from functools import lru_cache

from estimator.acoustics.absorber import Absorption, Layer, Makeup, absorb, measured
from estimator.acoustics.bands import Six
from estimator.acoustics.findings import Listening, RoomReport
from estimator.acoustics.porous import flow_resistivity
from estimator.acoustics.reflections import Panel, Plan, PlanWall
from estimator.acoustics.report import room_report
from estimator.acoustics.room import Body, Patch, RoomModel, Surface, both_faces, facing, treat
from estimator.acoustics.smallest import Offer
from estimator.acoustics.targets import Target, own_target, target_for
from estimator.catalogue.acoustic_tables import Finish, finishes
from estimator.catalogue.records import Catalogue
from estimator.core.units import METRE, Nm, metres
from estimator.job.description import Job
from estimator.layout.records import Frame, Layout, Opening
from estimator.layout.records import PlanWall as SurveyedWall

FLOOR, CEILING = "floor", "ceiling"
_OPENING_FINISH = {"window": "glass-window", "door": "door-wood"}
_UP = (0.0, 0.0, 1.0)


def report_of(job: Job, layout: Layout, catalogue: Catalogue, *, seek: bool = False) -> RoomReport:
    """Return what the treatment of a job does for its room, estimated.

    Args:
        job: the room as described.
        layout: what is built in it.
        catalogue: boards, cloth and the shop's practice.
        seek: also seek the smallest area that meets the target, which takes longer.

    Raises:
        InputError: a loudspeaker or listening position outside the room.
    """
    room = room_before(job, layout)
    alphas = _alphas(job, layout, catalogue)
    patches, bodies = patches_of(job, layout, catalogue)
    offers = _offers(room, alphas) if alphas and seek else ()
    return room_report(
        room,
        patches,
        bodies,
        _target(job, room.volume_m3),
        _listening(job, layout, alphas),
        offers,
        job.header.display,
    )


def _alphas(job: Job, layout: Layout, catalogue: Catalogue) -> dict[str, Absorption]:
    return {name: make_up_alpha(job, name, catalogue) for name in {f.make_up for f in layout.frames}}


def patches_of(job: Job, layout: Layout, catalogue: Catalogue) -> tuple[tuple[Patch, ...], tuple[Body, ...]]:
    """Return what the treatment puts on the room's surfaces, and what it hangs or stands in the room."""
    alphas = _alphas(job, layout, catalogue)
    patches = tuple(p for f in layout.frames if (p := _patch(f, layout, alphas)) is not None)
    reduction = 1 - catalogue.practice.number("two_faced_reduction")
    bodies = tuple(_body(f, alphas, reduction) for f in layout.frames if f.kind in {"screen", "cloud"})
    return patches, bodies


def room_after(room: RoomModel, patches: tuple[Patch, ...], bodies: tuple[Body, ...]) -> RoomModel:
    """Return the treated room."""
    return treat(room, patches, bodies)


def room_before(job: Job, layout: Layout) -> RoomModel:
    """Return the bare room: walls less their windows and doors, openings, floor and ceiling."""
    plan, table = layout.room, finishes()
    surfaces = [_wall(w, layout.openings, table) for w in plan.walls]
    surfaces += [_opening(o, plan.walls, table) for o in layout.openings if o.kind in _OPENING_FINISH]
    for name, finish in ((FLOOR, job.room.floor), (CEILING, job.room.ceiling)):
        known = table[finish]
        surfaces.append(Surface(name, plan.floor_area_m2, known.alpha, facing(_UP), _said(known)))
    return RoomModel(plan.volume_m3, tuple(s for s in surfaces if s.area_m2 > 0))


def _said(finish: Finish) -> str:
    return f"{finish.description}: {finish.source}"


def _area(width: Nm, height: Nm) -> float:
    return metres(width) * metres(height)


def _normal(wall: SurveyedWall) -> tuple[float, float, float]:
    dx, dy = (metres(b - a) for a, b in zip(wall.start, wall.end, strict=True))
    return (dy, -dx, 0.0)


def _wall(wall: SurveyedWall, openings: tuple[Opening, ...], table: Mapping[str, Finish]) -> Surface:
    cut = sum(_area(o.width, o.height) for o in openings if o.wall == wall.name and o.kind in _OPENING_FINISH)
    finish = table[wall.finish]
    area = _area(wall.length, wall.height) - cut
    return Surface(wall.name, max(area, 0.0), finish.alpha, facing(_normal(wall)), _said(finish))


def _opening(opening: Opening, walls: tuple[SurveyedWall, ...], table: Mapping[str, Finish]) -> Surface:
    wall = next(w for w in walls if w.name == opening.wall)
    finish = table[_OPENING_FINISH[opening.kind]]
    area = _area(opening.width, opening.height)
    return Surface(opening.name, area, finish.alpha, facing(_normal(wall)), _said(finish))


def make_up_alpha(job: Job, name: str, catalogue: Catalogue) -> Absorption:
    """Return the absorption of a make-up: its board's measured row where it lies flush, else the model's."""
    make_up = job.make_ups[name]
    board = catalogue.sizes(make_up.board)[0]
    if board.alpha is not None and make_up.layers == 1 and not make_up.gap:
        return measured(board.alpha, "flush", board.alpha_source)
    resistivity = board.resistivity_pa_s_m2 or flow_resistivity(board.density_kg_m3 or 0.0)
    layer = Layer(metres((board.thickness or 0) * make_up.layers), resistivity)
    cloth = catalogue.sizes(make_up.fabric)[0].cloth_pa_s_m or 0.0
    return _modelled(Makeup((layer,), metres(make_up.gap), cloth))


@lru_cache(maxsize=64)
def _modelled(makeup: Makeup) -> Absorption:
    return absorb(makeup)


def _patch(frame: Frame, layout: Layout, alphas: Mapping[str, Absorption]) -> Patch | None:
    """Return the treatment a frame puts on the wall it hangs on; None for what hangs on none."""
    if frame.kind in {"screen", "cloud"} or not frame.placement.wall:
        return None
    width, height = max((f.width for f in frame.faces), default=frame.width), frame.height
    alpha = alphas[frame.make_up]
    on = _recessed_in(frame, layout) if frame.kind == "recess" else frame.placement.wall
    return Patch(frame.name, on, _area(width, height), alpha.alpha, alpha.origin)


def _recessed_in(frame: Frame, layout: Layout) -> str:
    """Return the window whose recess a box fills, by where it stands."""
    middle = frame.placement.x + frame.width // 2
    for opening in layout.openings:
        inside = opening.x <= middle <= opening.x + opening.width
        if opening.kind == "window" and opening.wall == frame.placement.wall and inside:
            return opening.name
    return frame.placement.wall


def _body(frame: Frame, alphas: Mapping[str, Absorption], reduction: float) -> Body:
    alpha = alphas[frame.make_up]
    return both_faces(frame.name, _area(frame.width, frame.height), alpha.alpha, reduction, alpha.origin)


def _target(job: Job, volume_m3: float) -> Target | None:
    if job.room.target_s is not None:
        return own_target(job.room.target_s)
    return target_for(job.room.use, volume_m3)


def _offers(room: RoomModel, alphas: Mapping[str, Absorption]) -> tuple[Offer, ...]:
    """Return every wall as a place for the first make-up, to seek the smallest area that meets the target."""
    alpha = alphas[min(alphas)].alpha
    walls = (s for s in room.surfaces if s.name not in {FLOOR, CEILING} and s.shares[2] == 0)
    return tuple(Offer(s.name, s.area_m2, alpha) for s in walls)


def _listening(job: Job, layout: Layout, alphas: Mapping[str, Absorption]) -> Listening | None:
    room = job.room
    if room.listening is None or not room.loudspeakers:
        return None
    table = finishes()
    walls = tuple(
        PlanWall(w.name, _spot(w.start), _spot(w.end), metres(w.height), table[w.finish].alpha)
        for w in layout.room.walls
    )
    floor, ceiling = table[room.floor].alpha, table[room.ceiling].alpha
    panels = tuple(_panel(f, alphas[f.make_up].alpha) for f in layout.frames if f.kind == "wall")
    plan = Plan(walls, metres(layout.room.height), floor, ceiling, panels)
    speakers = tuple((s.name, _point(s.x, s.y, s.z)) for s in room.loudspeakers)
    return Listening(plan, speakers, _point(room.listening.x, room.listening.y, room.listening.z))


def _spot(point: tuple[Nm, Nm]) -> tuple[float, float]:
    return metres(point[0]), metres(point[1])


def _point(along: Nm, into: Nm, up: Nm) -> tuple[float, float, float]:
    """Return a surveyed point in plan coordinates: the room lies to the right of the first wall."""
    return along / METRE, -into / METRE, up / METRE


def _panel(frame: Frame, alpha: Six) -> Panel:
    spot = frame.placement
    sizes = (metres(v) for v in (spot.x, spot.z, frame.width, frame.height))
    left, bottom, width, height = sizes
    return Panel(frame.name, spot.wall, left, bottom, width, height, alpha)
