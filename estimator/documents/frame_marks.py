"""What is drawn on a frame: cloth, members, board joints, seams, fixings, casings with their saw cuts."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from estimator.core.units import Nm
from estimator.cutting.plans import Tile
from estimator.cutting.room import RoomPlans
from estimator.documents.canvas import Canvas
from estimator.documents.lettering import Box
from estimator.documents.strip_places import strip_places
from estimator.documents.views import Place, View
from estimator.layout.records import Fixing, Frame, Strip

HOLDS = {
    "stud": ("●", "screw into a stud"),
    "board": ("○", "screw or anchor in the wall board only"),
    "masonry": ("■", "anchor in masonry"),
    "hanger": ("▲", "hanger"),
    "frame": ("◇", "screw into another frame or a cleat"),
}
_MARK = 0.8
_LEAST_MARK = 0.45
_MEMBER: Nm = 30_000_000
"""A mark is this large in the building, where that is neither too large nor too small on paper."""
_SAW = 1.3


@dataclass(frozen=True, slots=True)
class Fill:
    """What the cutting plans put into frames: tiles by cavity, seam places by face (from its left)."""

    tiles: Mapping[str, tuple[Tile, ...]]
    seams: Mapping[str, tuple[Nm, ...]]


def fill_of(plans: RoomPlans, frames: Iterable[Frame]) -> Fill:
    """Return the fill of a room's frames, front layer of boards only."""
    tiles: dict[str, list[Tile]] = {}
    for plan in plans.boards.values():
        for tile in plan.tiles:
            if tile.layer == 1:
                tiles.setdefault(tile.hole, []).append(tile)
    wraps = {face.name: face.wrap for frame in frames for face in frame.faces}
    seams = {
        seam.piece: tuple(at - wraps[seam.piece] for at in seam.at)
        for plan in plans.rolls.values()
        for seam in plan.seams
        if seam.piece in wraps
    }
    return Fill({name: tuple(found) for name, found in tiles.items()}, seams)


def board_joints(frame: Frame, fill: Fill) -> Iterator[tuple[tuple[Nm, Nm], tuple[Nm, Nm]]]:
    """Yield the ends of every joint between boards, in the frame's coordinates."""
    for cavity in frame.cavities:
        for tile in fill.tiles.get(cavity.name, ()):
            x, y = cavity.x + tile.x, cavity.y + tile.y
            if tile.y:
                yield (x, y), (x + tile.width, y)
            if tile.x:
                yield (x, y), (x, y + tile.height)


def draw_inside(canvas: Canvas, view: View, frame: Frame, fill: Fill, corner: tuple[Nm, Nm]) -> None:
    """Draw members, board joints and seams of a frame whose lower-left corner is at `corner`."""
    left, foot = corner
    for m in frame.members:
        size = (m.thickness, m.length) if m.upright else (m.length, m.thickness)
        canvas.rect(view.box(left + m.x, foot + m.y, *size), "stud")
    for start, end in board_joints(frame, fill):
        canvas.line(view.at(left + start[0], foot + start[1]), view.at(left + end[0], foot + end[1]), "joint")
    for face in frame.faces[:1]:
        for at in fill.seams.get(face.name, ()):
            canvas.line(view.at(left + at, foot), view.at(left + at, foot + frame.height), "seam")


def draw_fixings(canvas: Canvas, view: View, fixings: Sequence[Fixing], corner: tuple[Nm, Nm]) -> None:
    """Draw a mark at every fixing that tells what it holds in; see `HOLDS`."""
    for fixing in fixings:
        place = view.at(corner[0] + fixing.x, corner[1] + fixing.y)
        draw_mark(canvas, place, fixing.holds_in, min(_MARK, max(_LEAST_MARK, _MEMBER * view.mm_per_nm)))


def draw_mark(canvas: Canvas, place: Place, holds_in: str, r: float = _MARK) -> None:
    """Draw one fixing's mark, `r` mm to each side."""
    x, y = place
    canvas.marks.append(Box(x - 1.5 * r, y - 1.5 * r, 3 * r, 3 * r))
    if holds_in in {"stud", "board"}:
        canvas.dot(place, r, "solid" if holds_in == "stud" else "hollow")
    elif holds_in == "masonry":
        canvas.path([(x - r, y - r), (x + r, y - r), (x + r, y + r), (x - r, y + r)], "solid", closed=True)
    elif holds_in == "hanger":
        canvas.path([(x, y - 1.4 * r), (x + 1.2 * r, y + r), (x - 1.2 * r, y + r)], "solid", closed=True)
    else:
        around = [(x, y - 1.3 * r), (x + 1.3 * r, y), (x, y + 1.3 * r), (x - 1.3 * r, y)]
        canvas.path(around, "hollow", closed=True)


def draw_strips(
    canvas: Canvas, view: View, frame: Frame, strips: Sequence[Strip], corner: tuple[Nm, Nm], *, saws: bool
) -> None:
    """Draw casings and cover strips; with `saws`, a slash at a mitred end and two ticks at a scribed one."""
    for place in strip_places(frame, strips):
        x, z = corner[0] + place.x, corner[1] + place.y
        canvas.rect(view.box(x, z, place.width, place.height), place.strip.kind)
        if saws:
            for last in (False, True):
                at = place.end(last=last)
                spot = view.at(corner[0] + at[0], corner[1] + at[1])
                _saw(canvas, spot, place.strip.ends[last].cut, upright=place.upright)


def _saw(canvas: Canvas, spot: Place, cut: str, *, upright: bool) -> None:
    x, y = spot
    if cut == "mitre":
        canvas.line((x - _SAW, y + _SAW), (x + _SAW, y - _SAW), "thin")
    elif cut == "scribe":
        for off in (-0.35, 0.35):
            if upright:
                canvas.line((x - _SAW, y + off), (x + _SAW, y + off), "thin")
            else:
                canvas.line((x + off, y - _SAW), (x + off, y + _SAW), "thin")
