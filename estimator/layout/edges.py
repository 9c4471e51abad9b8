"""What bounds a band, and the edges of a frame: what each part of each side meets, and whether it is cased.

Frames that meet round a corner of the plan: who meets whom, and how stiles and rails are cut.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from estimator.core.units import Nm
from estimator.layout.plan import OpeningKind
from estimator.layout.records import Edge, End, Frame, Meets, Member
from estimator.layout.shapes import OPPOSITE, SIDES, Rect, Side, contact, uncovered

CASED: frozenset[Meets] = frozenset(
    {"wall", "ceiling", "bulkhead", "sill", "casing", "baseboard", "floor", "free"}
)
BUILDING: frozenset[Meets] = CASED - {"free"}
"""What casing is sealed against."""
STANDS_OUT: frozenset[Meets] = frozenset({"bulkhead", "sill"})
"""What frames go round that leaves no room to drive a nail through a casing; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Bound:
    """One side of a band.

    Attributes:
        meets: what is there.
        cased: a casing strip stands between.
        short: how far the casing (or the frame, where there is none) stops from the band's end;
            negative where it runs past the end, at outside corners.
        turn_deg: turn of the plan there, as seen from inside.
        wall: the plan wall round the corner, '' where there is none.
        tight: the building is so near that no nail can be driven through the casing.
    """

    meets: Meets
    cased: bool
    short: Nm = 0
    turn_deg: float = 0.0
    wall: str = ""
    tight: bool = False


@dataclass(frozen=True, slots=True)
class BandHole:
    """What frames go round: `rect` with the building's own trim, or the clearance, already added."""

    name: str
    kind: OpeningKind | Literal["bulkhead"]
    rect: Rect

    def meets(self, side: Side) -> Meets:
        """Return what a frame's `side` meets there: a frame's top meets a window's sill."""
        if self.kind == "bulkhead":
            return "bulkhead"
        if self.kind == "window":
            return "sill" if side == "top" else "casing"
        return "casing" if self.kind == "door" else "free"


@dataclass(frozen=True, slots=True)
class TreatmentBand:
    """A treatment's band: its whole, and what frames may cover.

    Attributes:
        whole: the part of the wall that is treated.
        bounds: what each side meets.
        holes: what frames go round.
        casing: thickness of the casing strip, 0 where the make-up has none.
    """

    whole: Rect
    bounds: dict[Side, Bound]
    holes: tuple[BandHole, ...]
    casing: Nm

    @property
    def net(self) -> Rect:
        """Return what frames may cover, openings not taken off."""
        return self.whole.grown(*(-self.inset(side) for side in ("left", "right", "bottom", "top")))

    def inset(self, side: Side) -> Nm:
        """Return how far frames stop from the band's end on that side."""
        bound = self.bounds[side]
        return bound.short + (self.casing if bound.cased else 0)

    def grown(self, hole: BandHole) -> Rect:
        """Return a hole with the casing round it."""
        return hole.rect.grown(self.casing, self.casing, self.casing, self.casing)

    @property
    def grown_holes(self) -> tuple[Rect, ...]:
        """Return the holes that touch the band, with the casing round them."""
        grown = [self.grown(h) for h in self.holes]
        return tuple(g for g in grown if g.overlaps(self.net))


@dataclass(frozen=True, slots=True)
class Piece:
    """A frame's place on a wall, before it is built."""

    name: str
    host: str
    rect: Rect


def neighbours(piece: Piece, others: Sequence[Piece]) -> list[Piece]:
    """Return the other pieces of the same wall."""
    return [other for other in others if other.name != piece.name]


SQUARE_DEG = 90.0


def stop_short(depth: Nm, turn_deg: float) -> Nm:
    """Return how far each of two frames stops from the corner for a mitred meeting: d tan(turn / 2).

    Positive at inside corners; at outside corners (turn below 0) the frames run past the corner.

    Source: plane geometry: the fronts, `depth` from either wall, meet on the line that halves the corner.
    """
    return round(depth * math.tan(math.radians(turn_deg) / 2))


@dataclass(frozen=True, slots=True)
class Seat:
    """How a casing is seated against a bare wall that is not square to the frame's wall.

    Attributes:
        short: how far the casing's outside stops from the corner at the wall's line; negative where it
            runs past it, because the other wall leans away.
        bevel_deg: bevel along the strip's outside, 0 where it stays square.
        gap: left open at the face, to be closed by a scribed filler.
    """

    short: Nm
    bevel_deg: float
    gap: Nm


def seat(depth: Nm, turn_deg: float, casing: Nm) -> Seat:
    """Return how a casing meets a bare wall at an inside corner of the plan.

    At the frame's face the other wall is depth / tan(turn) further than at the wall's line (nearer where the
    turn is over 90). Where the strip is thick enough for that its outside is bevelled by |90 - turn|,
    and keeps at least a quarter of its thickness at the thin side; else it stays square.

    Source: plane geometry.
    """
    lean = 0 if turn_deg == SQUARE_DEG else round(depth / math.tan(math.radians(turn_deg)))
    if not lean:
        return Seat(0, 0.0, 0)
    if abs(lean) <= casing - casing // 4:
        return Seat(-max(lean, 0), abs(SQUARE_DEG - turn_deg), 0)
    return Seat(max(-lean, 0), 0.0, max(lean, 0))


def edges(piece: Piece, others: Sequence[Piece], band: TreatmentBand) -> tuple[Edge, ...]:
    """Return the edges of a piece, side by side, each side from its bottom or left.

    Args:
        piece: the frame's place.
        others: all pieces on the same wall, this one too.
        band: what bounds its treatment.
    """
    return tuple(edge for side in SIDES for edge in _side(piece, side, neighbours(piece, others), band))


def _side(piece: Piece, side: Side, others: Sequence[Piece], band: TreatmentBand) -> list[Edge]:
    found = _joints(piece, side, others) + _round_holes(piece, side, band)
    taken = [(e.start, e.start + e.length) for e in found]
    low, high = piece.rect.span(side)
    for start, end in uncovered((0, high - low), taken):
        found.append(_outer(piece, side, band, start, end))
    return sorted(found, key=lambda e: e.start)


def _joints(piece: Piece, side: Side, others: Sequence[Piece]) -> list[Edge]:
    base = piece.rect.span(side)[0]
    met = [(other, contact(piece.rect, side, other.rect)) for other in others]
    return [
        Edge(side, span[1] - span[0], "frame", cased=False, neighbour=other.name, start=span[0] - base)
        for other, span in met
        if span
    ]


def _round_holes(piece: Piece, side: Side, band: TreatmentBand) -> list[Edge]:
    base = piece.rect.span(side)[0]
    met = [(hole, contact(piece.rect, side, band.grown(hole))) for hole in band.holes]
    return [
        Edge(
            side,
            span[1] - span[0],
            hole.meets(side),
            cased=band.casing > 0,
            start=span[0] - base,
            tight=hole.meets(side) in STANDS_OUT,
        )
        for hole, span in met
        if span
    ]


def _outer(piece: Piece, side: Side, band: TreatmentBand, start: Nm, end: Nm) -> Edge:
    if piece.rect.at(side) != band.net.at(side):
        return Edge(side, end - start, "free", cased=False, start=start)
    bound = band.bounds[side]
    cased = bound.cased and band.casing > 0
    return Edge(
        side, end - start, bound.meets, cased, turn_deg=bound.turn_deg, start=start, tight=bound.tight
    )


@dataclass(frozen=True, slots=True)
class Standing:
    """The pieces of a treatment on its wall."""

    wall: str
    band: TreatmentBand
    pieces: tuple[Piece, ...]

    def at_end(self, side: Side) -> list[Piece]:
        """Return the pieces that reach the band's end on that side."""
        return [p for p in self.pieces if p.rect.at(side) == self.band.net.at(side)]


def with_neighbours(
    piece: Piece, edges: Sequence[Edge], own: Standing, everything: Sequence[Standing]
) -> tuple[Edge, ...]:
    """Return a piece's edges, those round a corner divided by the frames that they meet there."""
    found: list[Edge] = []
    for edge in edges:
        bound = own.band.bounds[edge.side]
        if bound.wall and _at_corner(piece, edge, own):
            found += _divided(piece, edge, bound, everything)
        else:
            found.append(edge)
    return tuple(found)


def _at_corner(piece: Piece, edge: Edge, own: Standing) -> bool:
    outer = piece.rect.at(edge.side) == own.band.net.at(edge.side)
    return outer and not edge.neighbour and edge.meets == own.band.bounds[edge.side].meets


def _divided(piece: Piece, edge: Edge, bound: Bound, everything: Sequence[Standing]) -> list[Edge]:
    opposite = OPPOSITE[edge.side]
    base, low = piece.rect.bottom, piece.rect.bottom + edge.start
    high = low + edge.length
    found = []
    for standing in everything:
        if standing.wall != bound.wall or not standing.band.bounds[opposite].wall:
            continue
        for other in standing.at_end(opposite):
            start, end = max(low, other.rect.bottom), min(high, other.rect.top)
            if start < end:
                found.append(replace(edge, neighbour=other.name, start=start - base, length=end - start))
    spans = [(e.start, e.start + e.length) for e in found]
    rest = uncovered((edge.start, edge.start + edge.length), spans)
    found += [replace(edge, start=start, length=end - start) for start, end in rest]
    return sorted(found, key=lambda e: e.start)


def mitred(frame: Frame) -> Frame:
    """Return a frame whose stile and rails are bevelled where it meets another at an outside corner.

    The stile is bevelled by half the turn along its length and the rails are mitred to it, their long point
    at the face.
    """
    turns = {e.side: abs(e.turn_deg) / 2 for e in frame.edges if e.meets == "angled" and e.turn_deg < 0}
    if not turns:
        return frame
    return replace(frame, members=tuple(_cut(m, frame.width, turns) for m in frame.members))


def _cut(member: Member, width: Nm, turns: dict[Side, float]) -> Member:
    left, right = turns.get("left", 0.0), turns.get("right", 0.0)
    if member.role == "rail":
        start = End("mitre", left) if left and member.x == 0 else member.ends[0]
        end = End("mitre", right) if right and member.x + member.length == width else member.ends[1]
        return replace(member, ends=(start, end))
    if member.role != "stile":
        return member
    return replace(member, bevel_deg=left if member.x == 0 else right)
