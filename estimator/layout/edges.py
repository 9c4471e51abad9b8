"""The edges of a frame on a wall: each part of each side knows what it meets and whether it is cased."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from estimator.core.units import Nm
from estimator.layout.bounds import Band, Piece, neighbours
from estimator.layout.records import SIDES, Edge, Side
from estimator.layout.rects import contact, uncovered

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


def edges(piece: Piece, others: Sequence[Piece], band: Band) -> tuple[Edge, ...]:
    """Return the edges of a piece, side by side, each side from its bottom or left.

    Args:
        piece: the frame's place.
        others: all pieces on the same wall, this one too.
        band: what bounds its treatment.
    """
    return tuple(edge for side in SIDES for edge in _side(piece, side, neighbours(piece, others), band))


def _side(piece: Piece, side: Side, others: Sequence[Piece], band: Band) -> list[Edge]:
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


def _round_holes(piece: Piece, side: Side, band: Band) -> list[Edge]:
    base = piece.rect.span(side)[0]
    met = [(hole, contact(piece.rect, side, band.grown(hole))) for hole in band.holes]
    return [
        Edge(side, span[1] - span[0], hole.meets(side), cased=band.casing > 0, start=span[0] - base)
        for hole, span in met
        if span
    ]


def _outer(piece: Piece, side: Side, band: Band, start: Nm, end: Nm) -> Edge:
    if piece.rect.at(side) != band.net.at(side):
        return Edge(side, end - start, "free", cased=False, start=start)
    bound = band.bounds[side]
    cased = bound.cased and band.casing > 0
    return Edge(side, end - start, bound.meets, cased, turn_deg=bound.turn_deg, start=start)
