"""From the layout to what the papers show of the room: treatment, hung pieces, and who hears what.

What a frame covers is taken away before the frame is added; of its face only the board between the members
absorbs. A corner trap counts as a flat panel on the left of its two walls; nothing is claimed for its depth.
What hangs or stands in the room counts both faces, less the stated reduction, without what a wall behind it
would add.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace

from estimator.acoustics.absorber import Absorption
from estimator.acoustics.bands import six
from estimator.acoustics.boundary import Finishes, finish_of, room_before
from estimator.acoustics.findings import Listening, RoomReport
from estimator.acoustics.modes import Mode, lowest
from estimator.acoustics.panels import (
    SQUARE_METRE,
    Filling,
    absorption_problems,
    absorptions,
    filled,
)
from estimator.acoustics.reflections import Panel, Plan, PlanWall, Point, Spot
from estimator.acoustics.report import room_report
from estimator.acoustics.room import Body, Patch, RoomModel, both_faces, treat
from estimator.acoustics.smallest import Offer
from estimator.acoustics.targets import Target, own_target, target_for
from estimator.catalogue.records import Catalogue
from estimator.catalogue.references import References
from estimator.core.errors import Problem
from estimator.core.units import METRE, Nm, metres
from estimator.job.description import Job
from estimator.job.description_room import Point as JobPoint
from estimator.job.description_room import Room
from estimator.job.piece_kinds import PIECES
from estimator.layout.records import Frame, Layout
from estimator.layout.surveyed import PlanWall as SurveyedWall

__all__ = ["patches_of", "report_of", "room_after", "room_before"]

SIDES_OF_A_BOX = 4
SQUARE_DEG = 90.0
MODES_LISTED = 8
"""How many of the lowest modes are listed: common practice, no source."""
COVERABLE = 0.8
"""Part of a wall that panels can cover beside doors, outlets and edges: common practice, no source."""


def _patch(frame: Frame, found: Mapping[Filling, Absorption]) -> Patch:
    """A frame's whole face; its coefficient is its board's, spread over the face with the members."""
    board = filled(frame, found)
    area = frame.width * frame.height / SQUARE_METRE
    alpha = six([a * board.area_m2 / area for a in board.alpha])
    return Patch(frame.name, frame.placement.covers, area, alpha, board.origin)


def _patches(layout: Layout, found: Mapping[Filling, Absorption]) -> Iterator[Patch]:
    return (_patch(frame, found) for frame in layout.frames if frame.placement.covers)


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


def _reduction(catalogue: Catalogue) -> float:
    return 1 - catalogue.practice.number("two_faced_reduction")


def _bodies(layout: Layout, found: Mapping[Filling, Absorption], reduction: float) -> tuple[Body, ...]:
    hung = [(f.name, filled(f, found)) for f in layout.frames if not f.placement.covers]
    return tuple(both_faces(name, b.area_m2, b.alpha, reduction, b.origin) for name, b in hung)


def patches_of(job: Job, layout: Layout, catalogue: Catalogue) -> tuple[tuple[Patch, ...], tuple[Body, ...]]:
    """Return what the treatment puts on the room's surfaces, and what it hangs or stands in the room."""
    found = absorptions(layout.frames, catalogue)
    patches, _ = fitted(_patches(layout, found), room_before(job, layout, catalogue))
    return patches, _bodies(layout, found, _reduction(catalogue))


def room_after(room: RoomModel, patches: tuple[Patch, ...], bodies: tuple[Body, ...]) -> RoomModel:
    """Return the treated room."""
    return treat(room, patches, bodies)


def _point(point: JobPoint) -> Point:
    """A job's point, y into the room, as one of the plan, where the room lies to the right of wall one."""
    return (metres(point.x), -metres(point.y), metres(point.z))


def _spot(point: tuple[Nm, Nm]) -> Spot:
    return (point[0] / METRE, point[1] / METRE)


def _panel(frame: Frame, found: Mapping[Filling, Absorption]) -> Panel:
    at = frame.placement
    left, bottom, width, height = (metres(v) for v in (at.x, at.z, frame.width, frame.height))
    return Panel(frame.name, at.wall, left, bottom, width, height, filled(frame, found).alpha)


def _mirror(wall: SurveyedWall, table: Finishes) -> PlanWall:
    alpha = finish_of(f"room.wall {wall.name}", wall.finish, table).alpha
    return PlanWall(wall.name, _spot(wall.start), _spot(wall.end), metres(wall.height), alpha)


def _listening(
    room: Room, layout: Layout, found: Mapping[Filling, Absorption], table: Finishes
) -> Listening | None:
    if room.listening is None or not room.loudspeakers:
        return None
    on_walls = [f for f in layout.frames if f.placement.wall and f.placement.covers == f.placement.wall]
    plan = Plan(
        walls=tuple(_mirror(wall, table) for wall in layout.room.walls),
        height_m=metres(layout.room.height),
        floor_alpha=finish_of("room.floor", room.floor, table).alpha,
        ceiling_alpha=finish_of("room.ceiling", room.ceiling, table).alpha,
        panels=tuple(_panel(f, found) for f in on_walls),
    )
    return Listening(plan, tuple((s.name, _point(s)) for s in room.loudspeakers), _point(room.listening))


def _offers(patches: tuple[Patch, ...], room: RoomModel, layout: Layout) -> tuple[Offer, ...]:
    """More of the job's largest panel on every wall of the plan."""
    if not patches:
        return ()
    alpha = max(patches, key=lambda p: p.area_m2).alpha
    walls = {w.name for w in layout.room.walls}
    return tuple(Offer(s.name, COVERABLE * s.area_m2, alpha) for s in room.surfaces if s.name in walls)


def _target(room: Room, volume_m3: float, tables: References) -> Target | None:
    return target_for(room.use, volume_m3, tables) if room.target_s is None else own_target(room.target_s)


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


def _box_m(layout: Layout) -> tuple[float, float, float] | None:
    """Return length, width and height of a room of four square corners without bulkheads; None of others."""
    plan = layout.room
    if len(plan.walls) != SIDES_OF_A_BOX or plan.drops or any(w.turn_deg != SQUARE_DEG for w in plan.walls):
        return None
    return metres(plan.walls[0].length), metres(plan.walls[1].length), metres(plan.height)


def _modes(layout: Layout, c: float) -> tuple[Mode, ...]:
    size = _box_m(layout)
    return lowest(size, MODES_LISTED, c) if size else ()


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
    found = absorptions(layout.frames, catalogue)
    room, reduction = room_before(job, layout, catalogue), _reduction(catalogue)
    patches, crowded = fitted(_patches(layout, found), room)
    report = room_report(
        room=room,
        patches=patches,
        bodies=_bodies(layout, found, reduction),
        target=_target(job.room, room.volume_m3, catalogue.references),
        listening=_listening(job.room, layout, found, catalogue.references.finishes),
        offers=_offers(patches, room, layout) if seek else (),
        display=job.header.display,
    )
    problems = (*absorption_problems(found), *crowded, *report.problems)
    notes = (*report.notes, *_assumed(layout, reduction))
    return replace(report, notes=notes, problems=problems, modes=_modes(layout, room.speed_m_s))
