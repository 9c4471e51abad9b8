"""The plan of the room: walls, openings, bulkheads, frames, traps, clouds, and where people listen."""

import math
from collections.abc import Iterator, Sequence

from estimator.core.units import METRE, Display, Nm, format_length
from estimator.documents.canvas import PAPER_MM, SMALL, TEXT, TINY, Canvas
from estimator.documents.lettering import Box, text_width
from estimator.documents.views import Place, View
from estimator.job.description_pieces import Cloud, Corner
from estimator.job.piece_kinds import PIECES
from estimator.layout.plan import PlanWall, drop_corners
from estimator.layout.records import Frame
from estimator.pipeline import Scope

_MARGIN_MM = 26.0
TALL_MM = 98.0
_LEAST_MM = 1.3
_FRAME_OFFS = (4.0, 6.5, 9.0, 12.0)
_WALL_OFFS = (1.5, 4.5, 7.5, 10.5)
_SQUARE_DEG = 90.0


def room_drawing(scope: Scope, display: Display, tall_mm: float = TALL_MM) -> str:
    """Return the room's plan as SVG, to scale, the first wall at the top of the page.

    Args:
        scope: the room as laid out.
        display: how lengths are written.
        tall_mm: how tall the room is drawn at most.
    """
    walls = scope.layout.room.walls
    view, canvas = _sheet(walls, tall_mm)
    canvas.path([view.at(*w.start) for w in walls], "wall", closed=True)
    _drops(canvas, view, scope)
    for wall in walls:
        for opening in (o for o in scope.layout.openings if o.wall == wall.name):
            canvas.path(_strip(view, wall, opening.x, opening.width, (-0.9, 0.9)), "opening", closed=True)
        for frame in (f for f in scope.layout.frames if f.placement.wall == wall.name):
            deep = max(frame.depth * view.mm_per_nm, _LEAST_MM)
            canvas.path(_strip(view, wall, frame.placement.x, frame.width, (0, deep)), "cloth2", closed=True)
    traps = list(_traps(canvas, view, scope))
    _ears(canvas, view, scope)
    _clouds(canvas, view, scope)
    _opening_names(canvas, view, scope)
    _wall_names(canvas, view, walls, display)
    for trap in traps:
        canvas.label([[trap[0]]], trap[1], turn=False)
    _frame_names(canvas, view, scope)
    _turns(canvas, view, walls)
    return canvas.svg(_alt(scope, display))


def _sheet(walls: Sequence[PlanWall], tall_mm: float) -> tuple[View, Canvas]:
    xs, ys = [w.start[0] for w in walls], [w.start[1] for w in walls]
    width, height = max(max(xs) - min(xs), 1), max(max(ys) - min(ys), 1)
    scale = min((PAPER_MM - 2 * _MARGIN_MM) / width, tall_mm / height)
    across, tall = width * scale, height * scale
    left = (PAPER_MM - across) / 2 - min(xs) * scale
    foot = _MARGIN_MM / 2 + tall + min(ys) * scale
    return View(left, foot, scale), Canvas(PAPER_MM, tall + _MARGIN_MM)


def _into(wall: PlanWall) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return the unit vectors along a wall and into the room, on the plan (y up the page)."""
    length = math.dist(wall.start, wall.end)
    along = ((wall.end[0] - wall.start[0]) / length, (wall.end[1] - wall.start[1]) / length)
    return along, (along[1], -along[0])


def _point(view: View, wall: PlanWall, x: Nm, off_mm: float) -> Place:
    """Return a place on the paper: `x` along the wall from its left end, `off_mm` into the room."""
    along, into = _into(wall)
    left, top = view.at(round(wall.start[0] + x * along[0]), round(wall.start[1] + x * along[1]))
    return left + off_mm * into[0], top - off_mm * into[1]


def _strip(view: View, wall: PlanWall, x: Nm, width: Nm, offs: tuple[float, float]) -> list[Place]:
    near, far = offs
    return [_point(view, wall, *at) for at in ((x, near), (x + width, near), (x + width, far), (x, far))]


def _drops(canvas: Canvas, view: View, scope: Scope) -> None:
    walls = {w.name: w for w in scope.layout.room.walls}
    for drop in scope.layout.room.drops:
        corners = [view.at(*corner) for corner in drop_corners(walls[drop.wall], drop)]
        canvas.path(corners, "dash", closed=True)
        (left, top), (right, foot) = corners[0], corners[2]
        spots = [(left + (right - left) * p, top + (foot - top) * p) for p in (0.5, 0.4, 0.6)]
        canvas.label(
            [[f"bulkhead {drop.name}"], [drop.name]], spots, room=_hull(corners), sizes=(SMALL, TINY)
        )


def _hull(points: Sequence[Place]) -> Box:
    """Return the smallest upright box round points."""
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return Box(min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys))


def _traps(canvas: Canvas, view: View, scope: Scope) -> Iterator[tuple[str, list[Place]]]:
    """Draw the corner traps and yield name and places for the label of each."""
    walls = {w.name: w for w in scope.layout.room.walls}
    for corner in scope.job.of(Corner):
        first, second = (walls[name] for name in corner.between)
        corner_at = view.at(*first.end)
        ends = [_point(view, first, first.length - corner.leg, 0), _point(view, second, corner.leg, 0)]
        canvas.path([corner_at, *ends], "cloth2", closed=True)
        x, y = (ends[0][0] + ends[1][0]) / 2, (ends[0][1] + ends[1][1]) / 2
        dx, dy = x - corner_at[0], y - corner_at[1]
        far = math.hypot(dx, dy) or 1.0
        yield corner.name, [(x + dx / far * off, y + dy / far * off) for off in _FRAME_OFFS]


def _clouds(canvas: Canvas, view: View, scope: Scope) -> None:
    frames = {f.host: f for f in scope.layout.frames}
    for cloud in scope.job.of(Cloud):
        if cloud.at is None:
            continue
        frame = frames[cloud.name]
        corner = (cloud.at.x - frame.width // 2, -cloud.at.y - frame.height // 2)
        box = view.box(*corner, frame.width, frame.height)
        canvas.rect(box, "dash")
        for f in frame.fixings:
            canvas.dot(view.at(corner[0] + f.x, corner[1] + f.y), 0.5, "solid")
        words = [[cloud.name, PIECES[frame.kind].word], [cloud.name]]
        spots = [(box.middle[0], box.y + box.height * part) for part in (0.5, 0.3, 0.7, 0.18, 0.82)]
        canvas.label(words, spots, room=box)


def _ears(canvas: Canvas, view: View, scope: Scope) -> None:
    room = scope.job.room
    if room.listening:
        at = view.at(room.listening.x, -room.listening.y)
        canvas.marks.append(Box(at[0] - 2, at[1] - 2, 4, 4))
        canvas.dot(at, 1.6, "hollow")
        canvas.dot(at, 0.4, "solid")
        canvas.label([["listener"]], _around(at), turn=False, sizes=(SMALL, TINY))
    for speaker in room.loudspeakers:
        x, y = view.at(speaker.x, -speaker.y)
        canvas.marks.append(Box(x - 2, y - 2, 4, 4))
        canvas.path([(x - 1.5, y - 1.5), (x + 1.5, y - 1.5), (x + 1.5, y + 1.5), (x - 1.5, y + 1.5)],
                    "solid", closed=True)  # fmt: skip
        canvas.label([[speaker.name]], _around((x, y)), turn=False, sizes=(SMALL, TINY))
    for heard in scope.room.heard:
        for found in heard.reflections:
            if found.point is not None:
                x, y = view.at(round(found.point[0] * METRE), round(found.point[1] * METRE))
                canvas.marks.append(Box(x - 1, y - 1, 2, 2))
                canvas.line((x - 1, y - 1), (x + 1, y + 1), "thin")
                canvas.line((x - 1, y + 1), (x + 1, y - 1), "thin")


def _around(place: Place) -> list[Place]:
    x, y = place
    near = [(x, y + 4), (x, y - 4), (x + 10, y), (x - 10, y)]
    return [*near, (x + 10, y + 4), (x - 10, y + 4), (x, y + 7), (x, y - 7)]


def _wall_names(canvas: Canvas, view: View, walls: Sequence[PlanWall], display: Display) -> None:
    for wall in walls:
        words = [wall.name, format_length(wall.length, display)]
        _, into = _into(wall)
        half = abs(into[0]) * max(text_width(word, TEXT) for word in words) / 2 + abs(into[1]) * TEXT * 1.2
        spots = [_point(view, wall, wall.length * part // 100, -off - half)
                 for off in _WALL_OFFS for part in (50, 35, 65, 20, 80)]  # fmt: skip
        canvas.label([words, [" ".join(words)], [wall.name]], spots, turn=False)


def _opening_names(canvas: Canvas, view: View, scope: Scope) -> None:
    for wall in scope.layout.room.walls:
        for opening in (o for o in scope.layout.openings if o.wall == wall.name):
            x = opening.x + opening.width // 2
            spots = [_point(view, wall, x, -off) for off in (3.2, 5.0, 7.0, 9.0)]
            canvas.label([[opening.name]], spots, turn=False, sizes=(SMALL, TINY))


def _frame_names(canvas: Canvas, view: View, scope: Scope) -> None:
    for wall in scope.layout.room.walls:
        for frame in (f for f in scope.layout.frames if f.placement.wall == wall.name):
            canvas.label([[frame.name]], _before(view, wall, frame), turn=False, sizes=(SMALL, TINY))


def _before(view: View, wall: PlanWall, frame: Frame) -> list[Place]:
    parts = (50, 35, 65, 20, 80)
    return [
        _point(view, wall, frame.placement.x + frame.width * part // 100, off)
        for off in _FRAME_OFFS
        for part in parts
    ]


def _turns(canvas: Canvas, view: View, walls: Sequence[PlanWall]) -> None:
    """Write the turn at every corner that is not square."""
    for wall, following in zip(walls, (*walls[1:], walls[0]), strict=True):
        if abs(wall.turn_deg) != _SQUARE_DEG and wall.turn_deg:
            (_, one), (_, other) = _into(wall), _into(following)
            x, y = view.at(*wall.end)
            spots = [(x + off * (one[0] + other[0]), y - off * (one[1] + other[1])) for off in (4, 6, 8, 10)]
            canvas.label([[f"{wall.turn_deg:g}°"]], spots, turn=False, sizes=(SMALL, TINY))


def _alt(scope: Scope, display: Display) -> str:
    walls = ", ".join(f"{w.name} {format_length(w.length, display)}" for w in scope.layout.room.walls)
    frames = ", ".join(f.name for f in scope.layout.frames)
    return f"Plan of the room {scope.layout.room.name}. Walls: {walls}. Frames and pieces: {frames}"
