"""Elevations of walls, from inside: for the client what is seen, for the site what is marked and fixed."""

from dataclasses import dataclass

from estimator.core.units import Display, Nm, format_length
from estimator.documents.canvas import PAPER_MM, SMALL, TINY, Canvas
from estimator.documents.frame_marks import Fill, draw_fixings, draw_inside, draw_strips
from estimator.documents.lettering import Box, text_width
from estimator.documents.views import View, fitted, readings, tape_below, tape_depth, tape_left
from estimator.documents.wording import size_text
from estimator.job.description import Job
from estimator.job.description_pieces import Corner
from estimator.layout.plan import Opening, PlanWall
from estimator.layout.records import Frame, Layout

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
    fill: Fill
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
    room = Box(side + 2, _HEAD_MM, PAPER_MM - side - 2 - _RIGHT_MM, _TALL_MM[what.detail])
    view = fitted(wall.length, wall.height, room)
    view = View(room.x, view.foot, view.mm_per_nm)
    canvas = Canvas(PAPER_MM, view.foot + below + 2)
    _building(canvas, view, what, wall)
    for frame in frames:
        _frame(canvas, view, what, frame)
    if what.detail:
        _level(canvas, view, what.line(frames), wall, display)
    for opening in (o for o in what.layout.openings if o.wall == wall.name):
        _opening(canvas, view, what, opening)
    tape_below(canvas, view, across, view.foot + 2)
    tape_left(canvas, view, up, room.x - 2)
    _names(canvas, view, what, frames)
    _overhead(canvas, view, what, wall)
    return canvas.svg(_alt(wall, frames, what))


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


def _corners(what: Elevation, wall: PlanWall) -> list[tuple[Nm, Nm, Nm, Nm]]:
    """Return the part of the wall that each corner trap at its ends takes."""
    found = []
    for corner in what.job.of(Corner):
        height = (corner.height or wall.height - corner.bottom) if corner.bottom < wall.height else 0
        if corner.between[0] == wall.name:
            found.append((wall.length - corner.leg, corner.bottom, corner.leg, height))
        if corner.between[1] == wall.name:
            found.append((0, corner.bottom, corner.leg, height))
    return found


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


def _opening(canvas: Canvas, view: View, what: Elevation, opening: Opening) -> None:
    box = view.box(opening.x, opening.z, opening.width, opening.height)
    filled = any(f.placement.covers == opening.name for f in what.layout.frames)
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
            canvas.label([[opening.name]], _around(box, opening.name), sizes=(SMALL, TINY), turn=False)


def _within(box: Box) -> list[tuple[float, float]]:
    """Return places inside a box to try for its label: the middle first."""
    x, y = box.middle
    return [(x, y), *((x, box.y + box.height * part) for part in (0.3, 0.7, 0.2, 0.8, 0.4, 0.6))]


def _around(box: Box, text: str) -> list[tuple[float, float]]:
    """Return places beside, over and under a box that is too small for its label."""
    (x, y), half = box.middle, text_width(text, SMALL) / 2 + 0.6
    right, left = (box.x + box.width + half, y), (box.x - half, y)
    return [right, left, (x, box.y - 2), (x, box.y + box.height + 2)]


def _names(canvas: Canvas, view: View, what: Elevation, frames: list[Frame]) -> None:
    for frame in frames:
        box = view.box(frame.placement.x, frame.placement.z, frame.width, frame.height)
        size = size_text(frame.width, frame.height, what.display)
        if not canvas.label([[frame.name, size], [frame.name]], _spots(box), room=box):
            canvas.label([[frame.name]], _around(box, frame.name), turn=False)
    for corner in what.job.of(Corner):
        wall = next(
            (w for w in what.layout.room.walls if frames and w.name == frames[0].placement.wall), None
        )
        if wall and wall.name in corner.between:
            for part in _corners(what, wall):
                box = view.box(*part)
                canvas.label([[f"corner {corner.name}"], [corner.name]], [box.middle], room=box)


def _spots(box: Box) -> list[tuple[float, float]]:
    parts = (0.5, 0.3, 0.7, 0.25, 0.75)
    return [(box.x + box.width * a, box.y + box.height * b) for b in parts for a in parts]


def _level(canvas: Canvas, view: View, line: Nm, wall: PlanWall, display: Display) -> None:
    start, end = view.at(0, line), view.at(wall.length, line)
    canvas.line((start[0] - 1, start[1]), (end[0] + 3, end[1]), "level")
    canvas.marks.append(Box(start[0], start[1] - 0.4, end[0] - start[0], 0.8))
    words = [["level line", format_length(line, display)]]
    canvas.label(words, [(end[0] + 10.5, end[1] + off) for off in (0, 4, -4, 8)], turn=False, sizes=(SMALL,))


def _overhead(canvas: Canvas, view: View, what: Elevation, wall: PlanWall) -> None:
    for drop in (d for d in what.layout.room.drops if d.wall == wall.name):
        box = view.box(drop.x, drop.underside, drop.width, wall.height - drop.underside)
        canvas.label([[f"bulkhead {drop.name}"], [drop.name]], _spots(box), room=box)


def _alt(wall: PlanWall, frames: list[Frame], what: Elevation) -> str:
    size = f"{format_length(wall.length, what.display)} by {format_length(wall.height, what.display)}"
    names = ", ".join(f.name for f in frames)
    openings = ", ".join(f"{o.kind} {o.name}" for o in what.layout.openings if o.wall == wall.name)
    besides = f"; openings: {openings}" if openings else ""
    return f"Elevation of the {wall.name} wall from inside, {size}, with frames {names}{besides}"
