"""How every piece of a stick is cut, in plain words: ends, bevel along it, width it is ripped to."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from estimator.catalogue.records import Catalogue
from estimator.core.units import Display, format_length
from estimator.cutting.room import strip_pieces
from estimator.documents.strip_places import UPRIGHT
from estimator.layout.records import Edge, End, Frame, Layout, Member, Strip

SQUARE = "square"
BUTT = "square, butts the next part"


@dataclass(frozen=True, slots=True)
class Saw:
    """The saw settings of a piece.

    Attributes:
        start, end: cut of the end marked first (left or bottom as fitted) and of the other.
        along: bevel along its length, '' for none; rip: width it is ripped to, '' for the stock's own.
        frame: where it goes.
    """

    name: str
    frame: str
    start: str
    end: str
    along: str
    rip: str

    @property
    def plain(self) -> bool:
        """Return whether it is only cut square to length."""
        return (self.start, self.end, self.along, self.rip) == (SQUARE, SQUARE, "", "")


def saws(layout: Layout, catalogue: Catalogue, display: Display) -> dict[str, Saw]:
    """Return the settings of every piece by the name that the cutting plans give it."""
    frames = {f.name: f for f in layout.frames}
    members = (_member(m, f) for f in layout.frames for m in f.members)
    strips = (s for strip in layout.strips for s in _strip(strip, frames[strip.frame], catalogue, display))
    return {saw.name: saw for saw in (*members, *strips)}


def _member(member: Member, frame: Frame) -> Saw:
    first, last = (_cut(end, "at the face") for end in member.ends)
    along = f"bevel {member.bevel_deg:g}° on its outer side, wide at the face" if member.bevel_deg else ""
    return Saw(member.name, frame.name, first, last, along, "")


def _strip(strip: Strip, frame: Frame, catalogue: Catalogue, display: Display) -> Iterator[Saw]:
    parts = [piece.name for piece in strip_pieces(strip, catalogue)]
    ends = [strip_end(strip, frame, display, last=last) for last in (False, True)]
    rip = format_length(strip.width, display) if strip.ripped else ""
    for number, name in enumerate(parts):
        start = ends[0] if number == 0 else BUTT
        end = ends[1] if number == len(parts) - 1 else BUTT
        yield Saw(name, strip.frame, start, end, along(strip), rip)


def along(strip: Strip) -> str:
    """Return the bevel along a strip in words; '' for none."""
    if not strip.bevel_deg:
        return ""
    where = "edge at the corner" if strip.kind == "cover" else "edge at the wall"
    return f"bevel {strip.bevel_deg:.4g}° along the {where}"


def strip_end(strip: Strip, frame: Frame, display: Display, *, last: bool) -> str:
    """Return the cut of one end of a strip in words: which way a mitre leans is said."""
    end = strip.ends[last]
    if end.cut == "scribe":
        return f"square, {format_length(end.extra, display)} longer than its place: scribe to fit"
    edge = _beyond(strip, frame.edges, last=last)
    if edge is None or edge.meets != "angled":
        return _cut(end, "away from the frame")
    return _cut(end, "at the back" if edge.turn_deg > 0 else "at the front")


def _cut(end: End, long_point: str) -> str:
    if end.cut == "mitre":
        return f"mitre {end.angle_deg:.4g}° off square, long point {long_point}"
    return SQUARE


def _beyond(strip: Strip, edges: Sequence[Edge], *, last: bool) -> Edge | None:
    """Return the frame's edge round the corner at an end of a level strip."""
    if strip.side in UPRIGHT:
        return None
    around = [e for e in edges if e.side == ("right" if last else "left")]
    return next((e for e in around if e.meets == "angled"), around[0] if around else None)
