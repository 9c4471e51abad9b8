"""A room drawn to scale: its plan from above, and the elevation of each of its walls from inside.

For the client an elevation shows what is seen, for the site what is marked and fixed.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from estimator.core.units import METRE, Display, Nm, format_length, size_text
from estimator.documents.canvas import (
    PAPER_MM,
    SMALL,
    TEXT,
    TINY,
    Canvas,
    PaperBox,
    Place,
    View,
    fitted,
    readings,
    tape,
    tape_depth,
    text_width,
)
from estimator.documents.frame_drawings import FrameFill, draw_fixings, draw_inside, draw_strips
from estimator.job.description import Job
from estimator.job.description_pieces import PIECES, Cloud, Corner
from estimator.layout.plan import PlanOpening, PlanWall, drop_corners
from estimator.layout.records import Frame, Layout
from estimator.pipeline import Scope

_MARGIN_MM = 26.0
TALL_MM = 98.0
_LEAST_MM = 1.3
_FRAME_OFFS = (4.0, 6.5, 9.0, 12.0)
_WALL_OFFS = (1.5, 4.5, 7.5, 10.5)
_PARTS = (50, 35, 65, 20, 80)
"""Where along its wall a name is tried, hundredths."""
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
    listed = ", ".join(f"{w.name} {format_length(w.length, display)}" for w in walls)
    frames = ", ".join(f.name for f in scope.layout.frames)
    return canvas.svg(
        f"Plan of the room {scope.layout.room.name}. Walls: {listed}. Frames and pieces: {frames}"
    )


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


def _hull(points: Sequence[Place]) -> PaperBox:
    """Return the smallest upright box round points."""
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return PaperBox(min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys))


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
        canvas.marks.append(PaperBox(at[0] - 2, at[1] - 2, 4, 4))
        canvas.dot(at, 1.6, "hollow")
        canvas.dot(at, 0.4, "solid")
        canvas.label([["listener"]], _around(at), turn=False, sizes=(SMALL, TINY))
    for speaker in room.loudspeakers:
        x, y = view.at(speaker.x, -speaker.y)
        canvas.marks.append(PaperBox(x - 2, y - 2, 4, 4))
        canvas.path([(x - 1.5, y - 1.5), (x + 1.5, y - 1.5), (x + 1.5, y + 1.5), (x - 1.5, y + 1.5)],
                    "solid", closed=True)  # fmt: skip
        canvas.label([[speaker.name]], _around((x, y)), turn=False, sizes=(SMALL, TINY))
    for heard in scope.room.heard:
        for found in heard.reflections:
            if found.point is not None:
                x, y = view.at(round(found.point[0] * METRE), round(found.point[1] * METRE))
                canvas.marks.append(PaperBox(x - 1, y - 1, 2, 2))
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
                 for off in _WALL_OFFS for part in _PARTS]  # fmt: skip
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
            left, wide = frame.placement.x, frame.width
            spots = [
                _point(view, wall, left + wide * part // 100, off) for off in _FRAME_OFFS for part in _PARTS
            ]
            canvas.label([[frame.name]], spots, turn=False, sizes=(SMALL, TINY))


def _turns(canvas: Canvas, view: View, walls: Sequence[PlanWall]) -> None:
    """Write the turn at every corner that is not square."""
    for wall, following in zip(walls, (*walls[1:], walls[0]), strict=True):
        if abs(wall.turn_deg) != _SQUARE_DEG and wall.turn_deg:
            (_, one), (_, other) = _into(wall), _into(following)
            x, y = view.at(*wall.end)
            spots = [(x + off * (one[0] + other[0]), y - off * (one[1] + other[1])) for off in (4, 6, 8, 10)]
            canvas.label([[f"{wall.turn_deg:g}°"]], spots, turn=False, sizes=(SMALL, TINY))


_HEAD_MM = 4.0
_RIGHT_MM = 19.0
_TALL_MM = {False: 82.0, True: 112.0}
_TONES = ("cloth", "cloth2", "cloth3")


@dataclass(frozen=True, slots=True)
class Elevation:
    """What an elevation needs to know.

    Attributes:
        detail: for the site: members, board joints, seams, fixings, level line and tapes.
    """

    job: Job
    layout: Layout
    fill: FrameFill
    display: Display
    detail: bool

    def frames(self, wall: str) -> list[Frame]:
        """Return the frames on a wall."""
        return [f for f in self.layout.frames if f.placement.wall == wall]

    def line(self, frames: list[Frame]) -> Nm:
        """Return the height of the laser line that the wall's frames are marked from."""
        own = {t.name: t.level_line for t in self.job.walls}
        return next((line for f in frames[:1] if (line := own.get(f.host))), self.layout.level_line)


def treated_walls(layout: Layout) -> list[PlanWall]:
    """Return the walls of the plan that carry frames, in the plan's order."""
    used = {f.placement.wall for f in layout.frames}
    return [w for w in layout.room.walls if w.name in used]


def elevation(what: Elevation, wall: PlanWall) -> str:
    """Return the elevation of a wall as SVG, to scale."""
    frames, display = what.frames(wall.name), what.display
    across, up = _marks(what, wall, frames)
    side, below = tape_depth(up) + 2, tape_depth(across) + 2
    room = PaperBox(side + 2, _HEAD_MM, PAPER_MM - side - 2 - _RIGHT_MM, _TALL_MM[what.detail])
    view = fitted(wall.length, wall.height, room)
    canvas = Canvas(PAPER_MM, view.foot + below + 2)
    _building(canvas, view, what, wall)
    for frame in frames:
        _frame(canvas, view, what, frame)
    if what.detail:
        _level(canvas, view, what.line(frames), wall, display)
    openings = [o for o in what.layout.openings if o.wall == wall.name]
    for opening in openings:
        _opening(canvas, view, what, opening)
    tape(canvas, view, across, view.foot + 2, below=True)
    tape(canvas, view, up, room.x - 2, below=False)
    _names(canvas, view, what, wall)
    _overhead(canvas, view, what, wall)
    size = " by ".join(format_length(v, display) for v in (wall.length, wall.height))
    names = ", ".join(f.name for f in frames)
    listed = ", ".join(f"{o.kind} {o.name}" for o in openings)
    besides = f"; openings: {listed}" if listed else ""
    return canvas.svg(f"Elevation of the {wall.name} wall from inside, {size}, with frames {names}{besides}")


def _marks(
    what: Elevation, wall: PlanWall, frames: list[Frame]
) -> tuple[list[tuple[Nm, str]], list[tuple[Nm, str]]]:
    """Return what the tapes read along the wall from its left end, and up from the floor."""
    across, up = {0, wall.length}, {0, wall.height}
    if what.detail:
        for f in frames:
            across |= {f.placement.x, f.placement.x + f.width}
            up |= {f.placement.z, f.placement.z + f.height}
        up.add(what.line(frames))
    up |= {d.underside for d in what.layout.room.drops if d.wall == wall.name}
    return readings(across, what.display), readings(up, what.display)


def _building(canvas: Canvas, view: View, what: Elevation, wall: PlanWall) -> None:
    canvas.rect(view.box(0, 0, wall.length, wall.height), "wall")
    canvas.line(view.at(0, 0), view.at(wall.length, 0), "floor")
    for drop in (d for d in what.layout.room.drops if d.wall == wall.name):
        canvas.rect(view.box(drop.x, drop.underside, drop.width, wall.height - drop.underside), "bulkhead")
    for box in _corners(what, wall):
        canvas.rect(view.box(*box), "dash")


def _corners(what: Elevation, wall: PlanWall) -> Iterator[tuple[Nm, Nm, Nm, Nm]]:
    """Yield the part of the wall that each corner trap at its ends takes."""
    for corner in what.job.of(Corner):
        height = (corner.height or wall.height - corner.bottom) if corner.bottom < wall.height else 0
        if corner.between[0] == wall.name:
            yield wall.length - corner.leg, corner.bottom, corner.leg, height
        if corner.between[1] == wall.name:
            yield 0, corner.bottom, corner.leg, height


def _tone(what: Elevation, frame: Frame) -> str:
    """Return the tone of a frame's cloth: each cloth of the room has its own."""
    cloths = list(
        dict.fromkeys((face.fabric, face.colour) for f in what.layout.frames for face in f.faces[:1])
    )
    own = (frame.faces[0].fabric, frame.faces[0].colour) if frame.faces else cloths[0]
    return _TONES[cloths.index(own) % len(_TONES)]


def _frame(canvas: Canvas, view: View, what: Elevation, frame: Frame) -> None:
    corner = (frame.placement.x, frame.placement.z)
    style = "frame" if what.detail else _tone(what, frame)
    canvas.rect(view.box(*corner, frame.width, frame.height), style)
    if what.detail:
        draw_inside(canvas, view, frame, what.fill, corner)
    draw_strips(canvas, view, frame, what.layout.strips, corner, saws=what.detail)
    if what.detail:
        draw_fixings(canvas, view, frame.fixings, corner)


def _opening(canvas: Canvas, view: View, what: Elevation, opening: PlanOpening) -> None:
    box = view.box(opening.x, opening.z, opening.width, opening.height)
    filled = any(f.placement.covers == opening.called for f in what.layout.frames)
    trim = {o.name: o.casing for o in what.job.openings_on(opening.wall)}.get(opening.name, 0)
    if trim:
        foot = trim if opening.z else 0
        size = (opening.width + 2 * trim, opening.height + trim + foot)
        canvas.rect(view.box(opening.x - trim, opening.z - foot, *size), "trim")
    canvas.rect(box, "trim" if filled else "opening")
    if opening.kind == "window" and not filled:
        canvas.line((box.x, box.y + box.height), (box.x + box.width, box.y), "leader")
    if not filled:
        shown = size_text(opening.width, opening.height, what.display)
        words: list[list[str]] = [
            [opening.name, opening.kind, shown], [opening.name, opening.kind], [opening.name],
        ]  # fmt: skip
        if not canvas.label(words, _within(box), room=box):
            canvas.label([[opening.name]], _beside(box, opening.name), sizes=(SMALL, TINY), turn=False)


def _within(box: PaperBox) -> list[tuple[float, float]]:
    """Return places inside a box to try for its label: the middle first."""
    x, y = box.middle
    return [(x, y), *((x, box.y + box.height * part) for part in (0.3, 0.7, 0.2, 0.8, 0.4, 0.6))]


def _beside(box: PaperBox, text: str) -> list[tuple[float, float]]:
    """Return places beside, over and under a box that is too small for its label."""
    (x, y), half = box.middle, text_width(text, SMALL) / 2 + 0.6
    right, left = (box.x + box.width + half, y), (box.x - half, y)
    return [right, left, (x, box.y - 2), (x, box.y + box.height + 2)]


def _names(canvas: Canvas, view: View, what: Elevation, wall: PlanWall) -> None:
    for frame in what.frames(wall.name):
        box = view.box(frame.placement.x, frame.placement.z, frame.width, frame.height)
        size = size_text(frame.width, frame.height, what.display)
        if not canvas.label([[frame.name, size], [frame.name]], _spots(box), room=box):
            canvas.label([[frame.name]], _beside(box, frame.name), turn=False)
    for corner in (c for c in what.job.of(Corner) if wall.name in c.between):
        for part in _corners(what, wall):
            box = view.box(*part)
            canvas.label([[f"corner {corner.name}"], [corner.name]], [box.middle], room=box)


def _spots(box: PaperBox) -> list[tuple[float, float]]:
    parts = (0.5, 0.3, 0.7, 0.25, 0.75)
    return [(box.x + box.width * a, box.y + box.height * b) for b in parts for a in parts]


def _level(canvas: Canvas, view: View, line: Nm, wall: PlanWall, display: Display) -> None:
    start, end = view.at(0, line), view.at(wall.length, line)
    canvas.line((start[0] - 1, start[1]), (end[0] + 3, end[1]), "level")
    canvas.marks.append(PaperBox(start[0], start[1] - 0.4, end[0] - start[0], 0.8))
    words = [["level line", format_length(line, display)]]
    canvas.label(words, [(end[0] + 10.5, end[1] + off) for off in (0, 4, -4, 8)], turn=False, sizes=(SMALL,))


def _overhead(canvas: Canvas, view: View, what: Elevation, wall: PlanWall) -> None:
    for drop in (d for d in what.layout.room.drops if d.wall == wall.name):
        box = view.box(drop.x, drop.underside, drop.width, wall.height - drop.underside)
        canvas.label([[f"bulkhead {drop.name}"], [drop.name]], _spots(box), room=box)
