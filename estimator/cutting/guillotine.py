"""Filling one rectangle by straight cuts from edge to edge: what every sheet and cloth plan is made of.

Every cut divides one region into two, so what comes out can be cut on a panel saw or with a straight edge.
Pieces are known here by their kind (an index) alone; equal pieces share one.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, NamedTuple, Protocol, TypeAlias

from estimator.core.units import Nm

Split: TypeAlias = Literal["keep largest", "keep narrow", "across", "along"]
SPLITS: tuple[Split, ...] = ("keep largest", "across", "along", "keep narrow")


class Option(NamedTuple):
    """A kind of piece in one of its positions, as wide and high as it would lie."""

    width: Nm
    height: Nm
    kind: int


class Region(NamedTuple):
    """A rectangle still whole: lower-left corner and size."""

    x: Nm
    y: Nm
    width: Nm
    height: Nm


class Laid(NamedTuple):
    """A piece of `kind` laid with its lower-left corner at `x`, `y`."""

    kind: int
    x: Nm
    y: Nm
    width: Nm
    height: Nm


@dataclass(frozen=True, slots=True)
class Filling:
    """What was laid in a region, in order, and the regions left over."""

    laid: tuple[Laid, ...]
    spare: tuple[Region, ...]

    @property
    def area(self) -> int:
        """Return the area laid, in square nanometres."""
        return sum(piece.width * piece.height for piece in self.laid)


def options_of(sizes: Sequence[tuple[Nm, Nm, bool]]) -> list[Option]:
    """Return the positions of each kind, from its (width, height, may turn), in the order given."""
    found: list[Option] = []
    for kind, (width, height, may_turn) in enumerate(sizes):
        found.append(Option(width, height, kind))
        if may_turn and width != height:
            found.append(Option(height, width, kind))
    return found


class Sized(Protocol):
    """What has a width and a height."""

    @property
    def width(self) -> Nm:
        """Return how wide it is."""

    @property
    def height(self) -> Nm:
        """Return how high it is."""


class Spot(NamedTuple):
    """Where a piece fits: what is to spare the tighter way and the other, which region, and how it lies."""

    tight: Nm
    slack: Nm
    at: int
    option: Option


def closest(ways: Sequence[Option], regions: Sequence[Sized]) -> Spot | None:
    """Return the first region that leaves least to spare one way; None where the piece fits none.

    Args:
        ways: the positions the piece may take.
        regions: where it may lie.
    """
    best: tuple[int, Option] | None = None
    least = other = 0
    for at, region in enumerate(regions):
        wide, high = region.width, region.height
        for option in ways:
            tight, slack = wide - option[0], high - option[1]
            if tight < 0 or slack < 0:
                continue
            if tight > slack:
                tight, slack = slack, tight
            if best is None or tight < least or (tight == least and slack < other):
                best, least, other = (at, option), tight, slack
    return None if best is None else Spot(least, other, *best)


def choose(options: Sequence[Option], left: Sequence[int], width: Nm, height: Nm) -> Option | None:
    """Return the option for a region: exact both ways, else one way, else the first that fits."""
    best, rank = None, -1
    for option in options:
        wide, high, kind = option
        if wide <= width and high <= height and left[kind]:
            exact = (wide == width) + (high == height)
            if exact > rank:
                if exact == 2:  # noqa: PLR2004 - both ways
                    return option
                best, rank = option, exact
    return best


def divide(region: Region, width: Nm, height: Nm, least: Nm, split: Split) -> list[Region]:
    """Return the regions left, none to two, once a piece is cut from the lower-left corner of `region`.

    Args:
        region: the rectangle cut.
        width: width of the piece.
        height: height of the piece.
        least: the shortest side of any piece still wanted: a leftover narrower than this is of no use,
            so the cut is made where it leaves the other one whole.
        split: which of the two cuts comes first where both leftovers are of use.
    """
    x, y, wide, high = region
    right, top = wide - width, high - height
    if right >= least and top >= least:
        whole = max(right * high, width * top) > max(right * height, wide * top)
        along = {"keep largest": whole, "keep narrow": not whole, "across": False, "along": True}[split]
    else:
        along = right >= least
    if along:
        parts = (Region(x + width, y, right, high), Region(x, y + height, width, top))
    else:
        parts = (Region(x + width, y, right, height), Region(x, y + height, wide, top))
    return [part for part in parts if part.width and part.height]


def fill(
    region: Region, options: Sequence[Option], left: list[int], split: Split = "keep largest"
) -> Filling:
    """Return `region` filled greedily, the smallest leftover region first.

    Args:
        region: the rectangle to fill.
        options: positions of the kinds, the most urgent first.
        left: how many of each kind are still wanted; lowered by what is laid.
        split: see `divide`.
    """
    laid: list[Laid] = []
    spare: list[Region] = []
    open_regions = [region]
    live, least = _live(options, left)
    gone = 0
    while open_regions:
        here = open_regions.pop()
        found = choose(live, left, here.width, here.height) if min(here.width, here.height) >= least else None
        if found is None:
            spare.append(here)
            continue
        laid.append(Laid(found.kind, here.x, here.y, found.width, found.height))
        left[found.kind] -= 1
        if not left[found.kind]:
            gone += 1
            if min(found.width, found.height) == least or 4 * gone > len(live):
                live, least = _live(live, left)
                gone = 0
        parts = divide(here, found.width, found.height, least, split)
        open_regions += sorted(parts, key=lambda part: (-part.width * part.height, part))
    return Filling(tuple(laid), tuple(spare))


def _live(options: Sequence[Option], left: Sequence[int]) -> tuple[list[Option], Nm]:
    """Return the options still wanted, and the shortest side of any."""
    live = [option for option in options if left[option[2]]]
    return live, min([min(option[0], option[1]) for option in live], default=0)
