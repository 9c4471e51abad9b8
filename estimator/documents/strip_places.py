"""Where casing and cover strips lie on a frame, seen from its front."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from estimator.core.units import Nm
from estimator.layout.records import Edge, Frame, Strip

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


def strip_places(frame: Frame, strips: Sequence[Strip]) -> Iterator[StripPlace]:
    """Yield the place of every strip of a frame; the strips of a side follow its edges in order."""
    own = [s for s in strips if s.frame == frame.name]
    for side in ("left", "right", "bottom", "top"):
        edges = sorted((e for e in frame.edges if e.side == side), key=lambda e: e.start)
        groups = (
            ([s for s in own if s.side == side and s.kind == "casing"], [e for e in edges if e.cased]),
            (_flat([s for s in own if s.side == side]), [e for e in edges if _joined(e)]),
            (_round([s for s in own if s.side == side]), [e for e in edges if _turned(e)]),
        )
        for found, places in groups:
            yield from (_place(frame, s, e) for s, e in zip(found, places, strict=False))


def _joined(edge: Edge) -> bool:
    return edge.meets == "frame" and bool(edge.neighbour) and not edge.turn_deg


def _turned(edge: Edge) -> bool:
    return edge.meets == "angled" and bool(edge.neighbour) and not edge.cased


def _flat(strips: Sequence[Strip]) -> list[Strip]:
    return [s for s in strips if s.kind == "cover" and "corner cover" not in s.name]


def _round(strips: Sequence[Strip]) -> list[Strip]:
    return [s for s in strips if s.kind == "cover" and "corner cover" in s.name]


def _place(frame: Frame, strip: Strip, edge: Edge) -> StripPlace:
    """Return the strip where it starts, outside the frame or over the joint."""
    wide = strip.thickness if strip.kind == "casing" else strip.width
    side = frame.width if edge.side == "right" else frame.height if edge.side == "top" else 0
    across = side - wide // 2 if strip.kind == "cover" else side - (wide if not side else 0)
    if strip.side in UPRIGHT:
        return StripPlace(strip, across, strip.start, wide, strip.length, edge)
    return StripPlace(strip, strip.start, across, strip.length, wide, edge)
