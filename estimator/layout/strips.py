"""Casing strips on the edges of frames, with the cut at each end and along them.

In elevation every corner is square, so a mitre at a corner of casings is 45 degrees. By the butt rule the
upright strip runs through and the level one stops against it.

Cover strips on the face over joints between frames, in one plane and round corners of the plan.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from estimator.core.units import Nm
from estimator.layout.edges import BUILDING, Piece, seat
from estimator.layout.records import Edge, End, Strip
from estimator.layout.shapes import Rect, Side

CornerRule = Literal["butt", "mitre"]
MITRE_DEG = 45.0
SQUARE = End("square")
UPRIGHT: frozenset[Side] = frozenset({"left", "right"})


@dataclass(frozen=True, slots=True)
class Trim:
    """The strips of a make-up.

    Attributes:
        casing, cover: products, '' for none.
        casing_thickness, casing_width: of the stock as bought; cover likewise.
        depth: of the frame, which the casing covers.
        corner: how casings meet at a corner.
        scribe: extra left on an end that is fitted to the building.
        gap: between the frame's edge and its casing, for the cloth.
    """

    casing: str
    casing_thickness: Nm
    casing_width: Nm
    cover: str
    cover_thickness: Nm
    cover_width: Nm
    finish: str
    depth: Nm
    corner: CornerRule
    scribe: Nm
    gap: Nm = 0
    primer: str = ""

    @property
    def reach(self) -> Nm:
        """Return how far the casing's outside stands off the frame."""
        return self.gap + self.casing_thickness


@dataclass(frozen=True, slots=True)
class CasedRun:
    """A cased edge on its wall: the strip covers `rect` before its ends are cut."""

    piece: Piece
    edge: Edge
    rect: Rect
    trim: Trim

    @property
    def upright(self) -> bool:
        """Return whether the strip stands."""
        return self.edge.side in UPRIGHT


def run_of(piece: Piece, edge: Edge, trim: Trim) -> CasedRun:
    """Return where a cased edge's strip lies, its gap to the frame included: outside, along the edge."""
    c, r = trim.reach, piece.rect
    if edge.side in UPRIGHT:
        bottom = r.bottom + edge.start
        left = r.left - c if edge.side == "left" else r.right
        return CasedRun(piece, edge, Rect(left, bottom, left + c, bottom + edge.length), trim)
    left = r.left + edge.start
    bottom = r.bottom - c if edge.side == "bottom" else r.top
    return CasedRun(piece, edge, Rect(left, bottom, left + edge.length, bottom + c), trim)


def casings(
    pieces: Sequence[Piece], edges: Mapping[str, Sequence[Edge]], trims: Mapping[str, Trim]
) -> tuple[Strip, ...]:
    """Return the casing strips of the frames on one wall; none where two laps leave nothing between them.

    Args:
        pieces: the frames' places.
        edges: of each frame, by name.
        trims: of each treatment, by name.
    """
    runs = [run_of(p, e, trims[p.host]) for p in pieces for e in edges[p.name] if e.cased]
    names = _names(runs)
    made = (_casing(run, name, edges[run.piece.name], runs) for run, name in zip(runs, names, strict=True))
    return tuple(strip for strip in made if strip.length > 0)


def _names(runs: Sequence[CasedRun]) -> list[str]:
    plain = [f"{run.piece.name} {run.edge.side} casing" for run in runs]
    return [
        f"{name} {plain[: i + 1].count(name)}" if plain.count(name) > 1 else name
        for i, name in enumerate(plain)
    ]


def _casing(run: CasedRun, name: str, own: Sequence[Edge], runs: Sequence[CasedRun]) -> Strip:
    (first, before), (last, after) = (_end(run, own, runs, at_end=at_end) for at_end in (False, True))
    beyond = before + after
    trim, free = run.trim, run.edge.meets == "free"
    return Strip(
        name, "casing", run.piece.name, run.edge.side, trim.casing, trim.finish,
        start=run.edge.start - before, length=run.edge.length + beyond, allowance=beyond, width=trim.depth,
        thickness=trim.casing_thickness, ripped=trim.casing_width > trim.depth,
        girth=trim.casing_thickness + (trim.depth if free else 0), ends=(first, last),
        bevel_deg=_bevel_deg(run), sealed=int(run.edge.meets in BUILDING), primer=trim.primer,
        glued=run.edge.tight,
    )  # fmt: skip


def _bevel_deg(run: CasedRun) -> float:
    """Return the bevel along a strip that is seated against a wall which is not square to its own."""
    edge = run.edge
    if edge.meets != "wall" or not run.upright or edge.turn_deg <= 0:
        return 0.0
    return seat(run.trim.depth, edge.turn_deg, run.trim.reach).bevel_deg


def _end(run: CasedRun, own: Sequence[Edge], runs: Sequence[CasedRun], *, at_end: bool) -> tuple[End, Nm]:
    """Return the cut of one end and what is added to the edge's length there."""
    trim, c = run.trim, run.trim.reach
    across = _across(run, own, at_end=at_end)
    if across is not None and across.cased:
        return _outside_corner(run, across)
    if across is not None and across.meets == "angled" and not run.upright and across.turn_deg:
        return angled_end(across.turn_deg, trim.depth)
    if any(_laps(run, other, at_end=at_end) for other in runs):
        if trim.corner == "mitre":
            return End("mitre", MITRE_DEG), 0
        return SQUARE, 0 if run.upright else -c
    return SQUARE, 0


def _outside_corner(run: CasedRun, across: Edge) -> tuple[End, Nm]:
    trim, c = run.trim, run.trim.reach
    if trim.corner == "mitre":
        return End("mitre", MITRE_DEG), c
    if not run.upright:
        return SQUARE, 0
    extra = trim.scribe if across.meets in BUILDING else 0
    return (End("scribe", extra=extra), c + extra) if extra else (SQUARE, c)


def angled_end(turn_deg: float, depth: Nm) -> tuple[End, Nm]:
    """Return the end of a level strip at a turn of the plan, mitred across its width to the halving line.

    At an inside corner its long point is at the back, d tan(turn / 2) beyond the frame; at an outside
    corner it is at the front, where the frame ends.
    """
    half = abs(turn_deg) / 2
    beyond = round(depth * math.tan(math.radians(half))) if turn_deg > 0 else 0
    return End("mitre", half), beyond


def _across(run: CasedRun, own: Sequence[Edge], *, at_end: bool) -> Edge | None:
    """Return the frame's edge round the corner at this end; None where the end is not at a corner."""
    edge, rect = run.edge, run.piece.rect
    whole = rect.height if run.upright else rect.width
    if at_end and edge.start + edge.length < whole:
        return None
    if not at_end and edge.start > 0:
        return None
    side: Side = ("top" if at_end else "bottom") if run.upright else ("right" if at_end else "left")
    last = edge.side in {"right", "top"}
    along = [e for e in own if e.side == side]
    return max(along, key=lambda e: e.start if last else -e.start)


def _laps(run: CasedRun, other: CasedRun, *, at_end: bool) -> bool:
    if other.upright == run.upright or not run.rect.overlaps(other.rect):
        return False
    both = run.rect.common(other.rect)
    if run.upright:
        return both.top == run.rect.top if at_end else both.bottom == run.rect.bottom
    return both.right == run.rect.right if at_end else both.left == run.rect.left


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
