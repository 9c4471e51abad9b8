"""Cover strips on the face over joints between frames, in one plane and round corners of the plan."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from estimator.core.units import Nm
from estimator.layout.bounds import Piece
from estimator.layout.records import Edge, Side, Strip
from estimator.layout.strips import SQUARE, UPRIGHT, Trim

BevelRule = Literal["half", "whole"]


@dataclass(frozen=True, slots=True)
class Joint:
    """A joint between two frames of a wall: `at` is its x where upright, else its z."""

    piece: Piece
    side: Side
    at: Nm
    start: Nm
    end: Nm

    @property
    def upright(self) -> bool:
        """Return whether the joint stands."""
        return self.side in UPRIGHT


def joints(pieces: Sequence[Piece], edges: Mapping[str, Sequence[Edge]]) -> list[Joint]:
    """Return each joint between frames once, at the right or top side of the frame that carries its strip."""
    found = []
    for piece in pieces:
        for edge in edges[piece.name]:
            if (
                edge.meets == "frame"
                and edge.neighbour
                and not edge.turn_deg
                and edge.side in {"right", "top"}
            ):
                base = piece.rect.span(edge.side)[0]
                at = piece.rect.at(edge.side)
                start = base + edge.start
                found.append(Joint(piece, edge.side, at, start, start + edge.length))
    return found


def covers(found: Sequence[Joint], trims: Mapping[str, Trim]) -> tuple[Strip, ...]:
    """Return the cover strips over joints; at a tee the strip that ends stops at the other's side."""
    strips, counts = [], dict[str, int]()
    for joint in found:
        trim = trims[joint.piece.host]
        if not trim.cover:
            continue
        half = trim.cover_width // 2
        cut = (half * _stops(joint, joint.start, found), half * _stops(joint, joint.end, found))
        base = f"{joint.piece.name} {joint.side} cover"
        counts[base] = counts.get(base, 0) + 1
        name = base if counts[base] == 1 else f"{base} {counts[base]}"
        strips.append(_cover(joint, name, trim, cut))
    return tuple(strips)


def _cover(joint: Joint, name: str, trim: Trim, cut: tuple[Nm, Nm]) -> Strip:
    """Return the strip over a joint, cut short at its start and end."""
    base = joint.piece.rect.span(joint.side)[0]
    return Strip(
        name, "cover", joint.piece.name, joint.side, trim.cover, trim.finish,
        start=joint.start - base + cut[0], length=joint.end - joint.start - sum(cut), allowance=-sum(cut),
        width=trim.cover_width, thickness=trim.cover_thickness, ripped=False,
        girth=trim.cover_width + 2 * trim.cover_thickness,
        ends=(SQUARE, SQUARE), bevel_deg=0.0, sealed=0, primer=trim.primer,
    )  # fmt: skip


def _stops(joint: Joint, end: Nm, found: Sequence[Joint]) -> bool:
    """Return whether a strip runs through across this end; at a cross the upright one does."""
    crossing = [
        j for j in found if j.upright != joint.upright and j.at == end and j.start <= joint.at <= j.end
    ]
    through = any(j.start < joint.at < j.end for j in crossing) or (
        any(j.end == joint.at for j in crossing) and any(j.start == joint.at for j in crossing)
    )
    carries_on = any(
        j.upright and j is not joint and j.at == joint.at and end in {j.start, j.end} for j in found
    )
    return through and not (joint.upright and carries_on)


def corner_covers(
    pieces: Sequence[Piece], edges: Mapping[str, Sequence[Edge]], trims: Mapping[str, Trim], rule: BevelRule
) -> tuple[Strip, ...]:
    """Return the strips that cover a mitred meeting round a corner, one on each frame's face.

    By rule 'half' both are bevelled by half the turn; by 'whole' the one on the left-hand wall takes it all.
    """
    found = []
    for piece in pieces:
        trim = trims[piece.host]
        meeting = [e for e in edges[piece.name] if e.meets == "angled" and e.neighbour and not e.cased]
        for number, edge in enumerate(meeting if trim.cover else [], 1):
            base = piece.rect.span(edge.side)[0] + edge.start
            joint = Joint(piece, edge.side, piece.rect.at(edge.side), base, base + edge.length)
            name = f"{piece.name} {edge.side} corner cover {number}"
            found.append(replace(_cover(joint, name, trim, (0, 0)), bevel_deg=_corner_bevel(edge, rule)))
    return tuple(found)


def _corner_bevel(edge: Edge, rule: BevelRule) -> float:
    turn = abs(edge.turn_deg)
    if rule == "half":
        return turn / 2
    return turn if edge.side == "right" else 0.0
