"""A frame as it is made: members numbered, boards named, seam and cut-outs, with tapes on two sides."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from estimator.core.units import Display, Nm, format_length
from estimator.documents.canvas import SMALL, TINY, Canvas
from estimator.documents.frame_marks import Fill, draw_fixings
from estimator.documents.lettering import Box
from estimator.documents.views import View, fitted, readings, tape_below, tape_depth, tape_left
from estimator.documents.wording import size_text
from estimator.layout.plan import Opening
from estimator.layout.records import Frame, Member

WIDTH_MM = 88.0
_TALL_MM = 58.0


@dataclass(frozen=True, slots=True)
class CutOut:
    """A hole in a frame for an electrical box: its rectangle on the frame, clearance included."""

    name: str
    x: Nm
    y: Nm
    width: Nm
    height: Nm


def cut_outs(frame: Frame, openings: Iterable[Opening]) -> list[CutOut]:
    """Return the holes for outlets and switches whose middle lies behind a frame."""
    at, found = frame.placement, []
    for o in openings:
        x, y = o.x + o.width // 2 - at.x, o.z + o.height // 2 - at.z
        if o.wall == at.wall and o.kind in {"outlet", "switch"} and frame.boxes:
            c = o.clearance
            hole = CutOut(o.name, o.x - c - at.x, o.z - c - at.z, o.width + 2 * c, o.height + 2 * c)
            if 0 <= x < frame.width and 0 <= y < frame.height:
                found.append(hole)
    return found


def numbered(frame: Frame) -> list[tuple[int, Member]]:
    """Return a frame's members with the numbers that drawing and assembly list call them by."""
    return list(enumerate(frame.members, 1))


def frame_drawing(
    frame: Frame, fill: Fill, display: Display, holes: Sequence[CutOut] = (), *, fixed: bool = False
) -> str:
    """Return the front view of a frame as SVG, to scale.

    Args:
        frame: the frame.
        fill: boards and seams.
        display: how lengths are written.
        holes: cut-outs for boxes.
        fixed: with fixings or hanger points.
    """
    across = readings(_uprights(frame, fixed=fixed), display)
    up = readings(_levels(frame, fixed=fixed), display)
    side, below = tape_depth(up) + 1, tape_depth(across) + 1
    view = fitted(frame.width, frame.height, Box(side, 3, WIDTH_MM - side - 4, _TALL_MM))
    view = View(side, view.foot, view.mm_per_nm)
    canvas = Canvas(WIDTH_MM, max(view.foot + below, 30))
    canvas.rect(view.box(0, 0, frame.width, frame.height), "frame")
    _boards(canvas, view, frame, fill)
    _members(canvas, view, frame)
    if fixed:
        draw_fixings(canvas, view, frame.fixings, (0, 0))
    for hole in holes:
        canvas.rect(view.box(hole.x, hole.y, hole.width, hole.height), "opening")
    _lettering(canvas, view, frame, fill, display, holes)
    tape_below(canvas, view, across, view.foot + 1.5)
    tape_left(canvas, view, up, side - 1)
    return canvas.svg(_alt(frame, display))


def _uprights(frame: Frame, *, fixed: bool) -> set[Nm]:
    """Return what the tape below reads: the left side of every upright, or every fixing; and the width."""
    if fixed:
        return {0, frame.width, *(f.x for f in frame.fixings)}
    return {0, frame.width, *(m.x for m in frame.members if m.upright)}


def _levels(frame: Frame, *, fixed: bool) -> set[Nm]:
    if fixed:
        return {0, frame.height, *(f.y for f in frame.fixings)}
    return {0, frame.height, *(m.y for m in frame.members if not m.upright)}


def _boards(canvas: Canvas, view: View, frame: Frame, fill: Fill) -> None:
    for cavity in frame.cavities:
        for tile in fill.tiles.get(cavity.name, ()):
            if cavity.x + cavity.width <= frame.width and cavity.y + cavity.height <= frame.height:
                box = view.box(cavity.x + tile.x, cavity.y + tile.y, tile.width, tile.height)
                canvas.rect(box, "board")
    for face in frame.faces[:1]:
        for at in fill.seams.get(face.name, ()):
            canvas.line(view.at(at, 0), view.at(at, frame.height), "seam")


def _members(canvas: Canvas, view: View, frame: Frame) -> None:
    for m in frame.members:
        size = (m.thickness, m.length) if m.upright else (m.length, m.thickness)
        canvas.rect(view.box(m.x, m.y, *size), "dash" if m.role == "brace" else "member")


def _lettering(
    canvas: Canvas, view: View, frame: Frame, fill: Fill, display: Display, holes: Sequence[CutOut]
) -> None:
    for hole in holes:
        box = view.box(hole.x, hole.y, hole.width, hole.height)
        x, y = box.middle
        spots = [(x, y), (box.x + box.width + 3.5, y), (box.x - 3.5, y), (x, box.y - 2)]
        canvas.label([[hole.name]], spots, sizes=(SMALL, TINY), turn=False)
    for number, m in numbered(frame):
        long = (m.thickness, m.length) if m.upright else (m.length, m.thickness)
        box = view.box(m.x, m.y, *long)
        canvas.label([[str(number)]], list(_along(box, upright=m.upright)), sizes=(SMALL, TINY), turn=False)
    for cavity in frame.cavities:
        for tile in fill.tiles.get(cavity.name, ()):
            box = view.box(cavity.x + tile.x, cavity.y + tile.y, tile.width, tile.height)
            short = tile.name.removeprefix(f"{frame.name} cavity ")
            size = size_text(tile.width, tile.height, display)
            canvas.label(
                [[short, size], [f"{short}: {size}"], [short]], [box.middle], room=box, sizes=(TINY,)
            )


def _along(box: Box, *, upright: bool) -> Iterable[tuple[float, float]]:
    x, y = box.middle
    for part in (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.1, 0.9):
        yield (x, box.y + part * box.height) if upright else (box.x + part * box.width, y)


def _alt(frame: Frame, display: Display) -> str:
    size = " by ".join(format_length(v, display) for v in (frame.width, frame.height))
    parts = f"{len(frame.members)} members and {len(frame.cavities)} cavities"
    return f"Frame {frame.name} from its front, {size}, with {parts}"
