"""What bounds a band: its four sides, the openings and bulkheads in it, and how far frames stop short."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from estimator.core.units import Nm
from estimator.layout.plan import OpeningKind
from estimator.layout.records import Meets
from estimator.layout.shapes import Rect, Side

CASED: frozenset[Meets] = frozenset(
    {"wall", "ceiling", "bulkhead", "sill", "casing", "baseboard", "floor", "free"}
)
BUILDING: frozenset[Meets] = CASED - {"free"}
"""What casing is sealed against."""


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
    """

    meets: Meets
    cased: bool
    short: Nm = 0
    turn_deg: float = 0.0
    wall: str = ""


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
