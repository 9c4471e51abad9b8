"""A frame drawn to scale: members, boards, seams, cut-outs, fixings, and the strips round it.

On elevations it is drawn among others, with board joints and the saw cuts of its strips; alone, with its
members numbered, its boards named, and tapes on two sides.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from estimator.core.units import Display, Nm, format_length, size_text
from estimator.cutting.plans import Tile
from estimator.cutting.room import RoomPlans
from estimator.documents.canvas import (
    SMALL,
    TINY,
    Canvas,
    PaperBox,
    Place,
    View,
    fitted,
    readings,
    tape,
    tape_depth,
)
from estimator.layout.records import Cavity, CutOut, Edge, Fixing, Frame, Member, Strip

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
class FrameFill:
    """What the cutting plans put into frames: tiles by cavity, seam places by face (from its left)."""

    tiles: Mapping[str, tuple[Tile, ...]]
    seams: Mapping[str, tuple[Nm, ...]]

    def front(self, frame: Frame) -> Iterator[tuple[Cavity, Tile, Nm, Nm]]:
        """Yield the boards that are seen, of the front layers: cavity, board, its left and its foot."""
        for cavity in frame.cavities:
            for tile in (tile for tile in self.tiles.get(cavity.name, ()) if tile.layer == 1):
                yield cavity, tile, cavity.x + tile.x, cavity.y + tile.y

    def seam_lines(self, frame: Frame) -> Iterator[Nm]:
        """Yield the place of every seam on the front of a frame, from its left."""
        return (at for face in frame.faces[:1] for at in self.seams.get(face.name, ()))


def fill_of(plans: RoomPlans, frames: Iterable[Frame]) -> FrameFill:
    """Return the fill of a room's frames."""
    tiles: dict[str, list[Tile]] = {}
    for plan in plans.boards.values():
        for tile in plan.tiles:
            tiles.setdefault(tile.hole, []).append(tile)
    wraps = {face.name: face.wrap for frame in frames for face in frame.faces}
    seams = {
        seam.piece: tuple(at - wraps[seam.piece] for at in seam.at)
        for plan in plans.rolls.values()
        for seam in plan.seams
        if seam.piece in wraps
    }
    return FrameFill({name: tuple(found) for name, found in tiles.items()}, seams)


def board_joints(frame: Frame, fill: FrameFill) -> Iterator[tuple[tuple[Nm, Nm], tuple[Nm, Nm]]]:
    """Yield the ends of every joint between boards, in the frame's coordinates."""
    for _, tile, x, y in fill.front(frame):
        if tile.y:
            yield (x, y), (x + tile.width, y)
        if tile.x:
            yield (x, y), (x, y + tile.height)


def draw_inside(canvas: Canvas, view: View, frame: Frame, fill: FrameFill, corner: tuple[Nm, Nm]) -> None:
    """Draw members, board joints and seams of a frame whose lower-left corner is at `corner`."""
    left, foot = corner
    for m in frame.members:
        size = (m.thickness, m.length) if m.upright else (m.length, m.thickness)
        canvas.rect(view.box(left + m.x, foot + m.y, *size), "stud")
    for start, end in board_joints(frame, fill):
        canvas.line(view.at(left + start[0], foot + start[1]), view.at(left + end[0], foot + end[1]), "joint")
    for at in fill.seam_lines(frame):
        canvas.line(view.at(left + at, foot), view.at(left + at, foot + frame.height), "seam")


def draw_fixings(canvas: Canvas, view: View, fixings: Sequence[Fixing], corner: tuple[Nm, Nm]) -> None:
    """Draw a mark at every fixing that tells what it holds in; see `HOLDS`."""
    for fixing in fixings:
        place = view.at(corner[0] + fixing.x, corner[1] + fixing.y)
        draw_mark(canvas, place, fixing.holds_in, min(_MARK, max(_LEAST_MARK, _MEMBER * view.mm_per_nm)))


def draw_mark(canvas: Canvas, place: Place, holds_in: str, r: float = _MARK) -> None:
    """Draw one fixing's mark, `r` mm to each side."""
    x, y = place
    canvas.marks.append(PaperBox(x - 1.5 * r, y - 1.5 * r, 3 * r, 3 * r))
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


WIDTH_MM = 88.0
_TALL_MM = 58.0


def numbered(frame: Frame) -> list[tuple[int, Member]]:
    """Return a frame's members with the numbers that drawing and assembly list call them by."""
    return list(enumerate(frame.members, 1))


def frame_drawing(
    frame: Frame, fill: FrameFill, display: Display, holes: Sequence[CutOut] = (), *, fixed: bool = False
) -> str:
    """Return the front view of a frame as SVG, to scale.

    Args:
        frame: the frame.
        fill: boards and seams.
        display: how lengths are written.
        holes: cut-outs for boxes.
        fixed: with fixings or hanger points.
    """
    xs = {f.x for f in frame.fixings} if fixed else {m.x for m in frame.members if m.upright}
    ys = {f.y for f in frame.fixings} if fixed else {m.y for m in frame.members if not m.upright}
    across, up = readings(xs | {0, frame.width}, display), readings(ys | {0, frame.height}, display)
    side, below = tape_depth(up) + 1, tape_depth(across) + 1
    view = fitted(frame.width, frame.height, PaperBox(side, 3, WIDTH_MM - side - 4, _TALL_MM))
    canvas = Canvas(WIDTH_MM, max(view.foot + below, 30))
    canvas.rect(view.box(0, 0, frame.width, frame.height), "frame")
    _boards(canvas, view, frame, fill)
    _members(canvas, view, frame)
    if fixed:
        draw_fixings(canvas, view, frame.fixings, (0, 0))
    for hole in holes:
        canvas.rect(view.box(hole.x, hole.y, hole.width, hole.height), "opening")
    _lettering(canvas, view, frame, fill, display, holes)
    tape(canvas, view, across, view.foot + 1.5, below=True)
    tape(canvas, view, up, side - 1, below=False)
    return canvas.svg(_alt(frame, display))


def _boards(canvas: Canvas, view: View, frame: Frame, fill: FrameFill) -> None:
    for cavity, tile, x, y in fill.front(frame):
        if cavity.x + cavity.width <= frame.width and cavity.y + cavity.height <= frame.height:
            canvas.rect(view.box(x, y, tile.width, tile.height), "board")
    for at in fill.seam_lines(frame):
        canvas.line(view.at(at, 0), view.at(at, frame.height), "seam")


def _members(canvas: Canvas, view: View, frame: Frame) -> None:
    for m in frame.members:
        size = (m.thickness, m.length) if m.upright else (m.length, m.thickness)
        canvas.rect(view.box(m.x, m.y, *size), "dash" if m.role == "brace" else "member")


def _lettering(
    canvas: Canvas, view: View, frame: Frame, fill: FrameFill, display: Display, holes: Sequence[CutOut]
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
    for _, tile, x, y in fill.front(frame):
        box = view.box(x, y, tile.width, tile.height)
        short = tile.name.removeprefix(f"{frame.name} cavity ")
        size = size_text(tile.width, tile.height, display)
        canvas.label([[short, size], [f"{short}: {size}"], [short]], [box.middle], room=box, sizes=(TINY,))


def _along(box: PaperBox, *, upright: bool) -> Iterable[tuple[float, float]]:
    x, y = box.middle
    for part in (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.1, 0.9):
        yield (x, box.y + part * box.height) if upright else (box.x + part * box.width, y)


def _alt(frame: Frame, display: Display) -> str:
    size = " by ".join(format_length(v, display) for v in (frame.width, frame.height))
    parts = f"{len(frame.members)} members and {len(frame.cavities)} cavities"
    return f"Frame {frame.name} from its front, {size}, with {parts}"


UPRIGHT = frozenset({"left", "right"})


@dataclass(frozen=True, slots=True)
class StripPlace:
    """A strip as seen from the front: its rectangle in the frame's coordinates.

    Attributes:
        edge: the part of the frame's side that it covers; the strip may run past it at corners.
    """

    strip: Strip
    x: Nm
    y: Nm
    width: Nm
    height: Nm
    edge: Edge

    @property
    def upright(self) -> bool:
        """Return whether the strip stands."""
        return self.strip.side in UPRIGHT

    def end(self, *, last: bool) -> tuple[Nm, Nm]:
        """Return the middle of its start (left or bottom) or of its end."""
        if self.upright:
            return self.x + self.width // 2, self.y + (self.height if last else 0)
        return self.x + (self.width if last else 0), self.y + self.height // 2


_CARRIES: dict[str, Callable[[Edge], bool]] = {
    "casing": lambda edge: edge.cased,
    "cover": lambda edge: edge.meets == "frame" and bool(edge.neighbour) and not edge.turn_deg,
    "corner cover": lambda edge: edge.meets == "angled" and bool(edge.neighbour) and not edge.cased,
}
"""Which edges of a frame carry each sort of strip."""


def _sort(strip: Strip) -> str:
    return "corner cover" if strip.kind == "cover" and "corner cover" in strip.name else strip.kind


def strip_places(frame: Frame, strips: Sequence[Strip]) -> Iterator[StripPlace]:
    """Yield the place of every strip of a frame; the strips of a side follow its edges in order."""
    for side in ("left", "right", "bottom", "top"):
        own = [s for s in strips if s.frame == frame.name and s.side == side]
        edges = sorted((e for e in frame.edges if e.side == side), key=lambda e: e.start)
        for sort, carries in _CARRIES.items():
            found, places = (s for s in own if _sort(s) == sort), (e for e in edges if carries(e))
            yield from (_place(frame, s, e) for s, e in zip(found, places, strict=False))


def _place(frame: Frame, strip: Strip, edge: Edge) -> StripPlace:
    """Return the strip where it starts, outside the frame or over the joint."""
    wide = strip.thickness if strip.kind == "casing" else strip.width
    side = frame.width if edge.side == "right" else frame.height if edge.side == "top" else 0
    across = side - wide // 2 if strip.kind == "cover" else side - (wide if not side else 0)
    if strip.side in UPRIGHT:
        return StripPlace(strip, across, strip.start, wide, strip.length, edge)
    return StripPlace(strip, strip.start, across, strip.length, wide, edge)
