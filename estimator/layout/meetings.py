"""Frames that meet round a corner of the plan: who meets whom, and how stiles and rails are cut."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from estimator.core.units import Nm
from estimator.layout.bounds import Band, Bound, Piece
from estimator.layout.records import Edge, End, Frame, Member, Side
from estimator.layout.rects import OPPOSITE, uncovered


@dataclass(frozen=True, slots=True)
class Standing:
    """The pieces of a treatment on its wall."""

    wall: str
    band: Band
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
