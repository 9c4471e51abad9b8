"""Sticks for the shop: how every piece is cut, in plain words, and the sticks that are cut alike.

Those cut alike have one drawing, one set of saw stops, and a list of whose pieces they are.
"""

import string
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import count

from estimator.catalogue.records import Catalogue
from estimator.core.units import Display, format_length
from estimator.cutting.plans import Stick, StickPiece, StickPlan
from estimator.cutting.room import strip_pieces
from estimator.documents.cutting_drawings import bar, left_over
from estimator.documents.frame_drawings import UPRIGHT
from estimator.layout.records import Edge, End, Frame, Layout, Member, Strip

SQUARE = "square"
BUTT = "square, butts the next part"


@dataclass(frozen=True, slots=True)
class Saw:
    """The saw settings of a piece.

    Attributes:
        start, end: cut of the end marked first (left or bottom as fitted) and of the other.
        along: bevel along its length, '' for none; rip: width it is ripped to, '' for the stock's own.
    """

    name: str
    start: str
    end: str
    along: str
    rip: str

    @property
    def cuts(self) -> tuple[str, str, str, str]:
        """Return everything that is done at the saw."""
        return self.start, self.end, self.along, self.rip

    @property
    def plain(self) -> bool:
        """Return whether it is only cut square to length."""
        return self.cuts == NO_SAW.cuts


def saws(layout: Layout, catalogue: Catalogue, display: Display) -> dict[str, Saw]:
    """Return the settings of every piece by the name that the cutting plans give it."""
    frames = {f.name: f for f in layout.frames}
    members = (_member(m) for f in layout.frames for m in f.members)
    strips = (s for strip in layout.strips for s in _strip(strip, frames[strip.frame], catalogue, display))
    return {saw.name: saw for saw in (*members, *strips)}


def _member(member: Member) -> Saw:
    first, last = (_cut(end, "at the face") for end in member.ends)
    along = f"bevel {member.bevel_deg:g}° on its outer side, wide at the face" if member.bevel_deg else ""
    return Saw(member.name, first, last, along, "")


def _strip(strip: Strip, frame: Frame, catalogue: Catalogue, display: Display) -> Iterator[Saw]:
    parts = [piece.name for piece in strip_pieces(strip, catalogue)]
    ends = [strip_end(strip, frame, display, last=last) for last in (False, True)]
    rip = format_length(strip.width, display) if strip.ripped else ""
    for number, name in enumerate(parts):
        start = ends[0] if number == 0 else BUTT
        end = ends[1] if number == len(parts) - 1 else BUTT
        yield Saw(name, start, end, along(strip), rip)


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


NO_SAW = Saw("", SQUARE, SQUARE, "", "")


@dataclass(frozen=True, slots=True)
class StickGroup:
    """Sticks of one length whose pieces have the same lengths and saw settings in the same order.

    Attributes:
        which: their numbers; a stick keeps its number from the plan.
        title: how many of which length, and what is left over of each.
        pieces: letter, length and settings of each piece, in the order of cutting.
        sticks: number and piece names of each stick.
    """

    which: str
    title: str
    drawing: str
    pieces: tuple[tuple[str, str, Saw], ...]
    sticks: tuple[tuple[int, tuple[str, ...]], ...]

    @property
    def plain(self) -> bool:
        """Return whether every piece is only cut square to length."""
        return all(saw.plain for _, _, saw in self.pieces)


def stick_groups(plan: StickPlan, settings: Mapping[str, Saw], display: Display) -> list[StickGroup]:
    """Return every stick of a plan, those cut alike together, in the plan's order of the first of each."""
    groups: dict[object, list[tuple[int, Stick]]] = {}
    for number, stick in enumerate(plan.sticks, 1):
        alike = tuple((p.length, settings.get(p.name, NO_SAW).cuts) for p in stick.pieces)
        groups.setdefault((stick.stock.key, alike), []).append((number, stick))
    return [_group(found, plan, settings, display) for found in groups.values()]


def letters() -> Iterator[str]:
    """Yield the letters A to Z, then A2 to Z2, and so on."""
    for turn in count(1):
        yield from (letter if turn == 1 else f"{letter}{turn}" for letter in string.ascii_uppercase)


def _group(
    found: Sequence[tuple[int, Stick]], plan: StickPlan, settings: Mapping[str, Saw], display: Display
) -> StickGroup:
    (_, first), several = found[0], len(found) > 1
    each = " of each" if several and first.offcut else ""
    length = format_length(first.stock.length, display)
    title = f"{len(found)} × {length}, {left_over(first, display)}{each}"
    which = ("Sticks " if several else "Stick ") + _numbers([number for number, _ in found])
    named = list(zip(letters(), first.pieces, strict=False))
    lengths = [format_length(p.length, display) for p in first.pieces]
    saws = [settings.get(p.name, NO_SAW) for p in first.pieces]
    lettered = tuple(StickPiece(letter, p.length) for letter, p in named)
    drawn = replace(first, pieces=lettered) if several else first
    return StickGroup(
        which, title, bar(drawn, plan, display, f"{which}: {title}"),
        tuple(zip((letter for letter, _ in named), lengths, saws, strict=True)),
        tuple((number, tuple(p.name for p in stick.pieces)) for number, stick in found),
    )  # fmt: skip


def _numbers(numbers: Sequence[int]) -> str:
    """Return numbers as a list with runs: 1 to 4, 7, 9."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and runs[-1][-1] == number - 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(str(r[0]) if len(r) == 1 else f"{r[0]} to {r[-1]}" for r in runs)
