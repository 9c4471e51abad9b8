"""Records of cutting plans: what is cut, from what, and how far from perfect the plan can be at most.

All lengths are whole nanometres (`Nm`). A plan is plain data; the planners make it and `verify`, which
shares no code with them, checks it.
"""

from dataclasses import dataclass
from decimal import Decimal

from estimator.core.units import Nm

MOST_PIECES = 5_000
"""Pieces that a list may have: fifty times what a room has, and planned in seconds."""


@dataclass(frozen=True, slots=True)
class StickStock:
    """A length that can be bought.

    Attributes:
        key: its row in the price list.
        length: bought length.
        price: price of one.
        limit: how many can be had; None for as many as wanted.
    """

    key: str
    length: Nm
    price: Decimal
    limit: int | None = None


@dataclass(frozen=True, slots=True)
class StickPiece:
    """One piece wanted: its name (printed on its label) and its length along the stick."""

    name: str
    length: Nm


@dataclass(frozen=True, slots=True)
class Stick:
    """One bought stick: its pieces in the order they are cut, and what is left over."""

    stock: StickStock
    pieces: tuple[StickPiece, ...]
    offcut: Nm


@dataclass(frozen=True, slots=True)
class StickPlan:
    """Every piece on a stick.

    Invariant per stick: end trim + sum(piece) + kerf x cuts + offcut = stock length, where the cut that
    would fall beyond the end is not made (sum(piece + kerf) <= usable length + kerf).

    Attributes:
        cost: sum of the sticks' prices.
        bound: no plan costs less than this.
        proven: whether `cost` is shown to be the least possible.
        patterns: number of different cutting patterns.
        method: in a few words, how the plan was found.
    """

    sticks: tuple[Stick, ...]
    kerf: Nm
    end_trim: Nm
    cost: Decimal
    bound: Decimal
    proven: bool
    patterns: int
    method: str


@dataclass(frozen=True, slots=True)
class SheetStock:
    """A board or sheet that can be bought; `width` x `height` as bought, `height` the longer by habit."""

    key: str
    width: Nm
    height: Nm
    price: Decimal
    limit: int | None = None


@dataclass(frozen=True, slots=True)
class SheetPiece:
    """One rectangle wanted. `may_turn` allows a quarter turn (boards: yes unless faced)."""

    name: str
    width: Nm
    height: Nm
    may_turn: bool = True


@dataclass(frozen=True, slots=True)
class Placed:
    """A piece where it is cut: lower-left corner `x`, `y`, and the size it takes up there."""

    piece: SheetPiece
    x: Nm
    y: Nm
    width: Nm
    height: Nm


@dataclass(frozen=True, slots=True)
class Rectangle:
    """A leftover: lower-left corner and size."""

    x: Nm
    y: Nm
    width: Nm
    height: Nm


@dataclass(frozen=True, slots=True)
class CutSheet:
    """One bought sheet, guillotine-cut: its pieces and the leftovers worth keeping."""

    stock: SheetStock
    placed: tuple[Placed, ...]
    offcuts: tuple[Rectangle, ...]


@dataclass(frozen=True, slots=True)
class SheetPlan:
    """Every rectangle on a sheet; `bound` sheets (or cost) at least; see `StickPlan` for the rest."""

    sheets: tuple[CutSheet, ...]
    kerf: Nm
    cost: Decimal
    bound: Decimal
    proven: bool
    method: str


@dataclass(frozen=True, slots=True)
class Hole:
    """A cavity to be filled: `layers` of board in it, each fully tiled.

    Attributes:
        name: the cavity's name, such as ``N1/c2``.
    """

    name: str
    width: Nm
    height: Nm
    layers: int = 1


@dataclass(frozen=True, slots=True)
class Tile:
    """A board piece in its cavity: lower-left corner within the cavity, size, and the name on its label."""

    hole: str
    layer: int
    name: str
    x: Nm
    y: Nm
    width: Nm
    height: Nm


@dataclass(frozen=True, slots=True)
class BoardPlan:
    """Cavities tiled by whole boards and strips, and the sheets those are cut from.

    Every tile is a piece of `sheets` by the same name; `bound` is the least number of boards.
    """

    tiles: tuple[Tile, ...]
    sheets: SheetPlan
    boards: int
    bound: int
    proven: bool


@dataclass(frozen=True, slots=True)
class RollPiece:
    """A piece of cloth: `width` across the roll and `length` along it, before any turn.

    Attributes:
        may_turn: railroaded or directionless cloth: a quarter turn is allowed. Nap and pattern forbid
            every turn, 180 degrees too.
        seam_at: x positions across the piece where a seam may fall (over a stud), for pieces wider
            than the roll; empty where no seam is possible.
        seam_allowance: cloth turned in on each side of a seam: a part is wider by it at each of its seams.
    """

    name: str
    width: Nm
    length: Nm
    may_turn: bool = False
    seam_at: tuple[Nm, ...] = ()
    seam_allowance: Nm = 0


@dataclass(frozen=True, slots=True)
class PlacedCloth:
    """A piece on the roll: `x` across, `y` along, the size it takes up, and whether it was turned."""

    name: str
    x: Nm
    y: Nm
    width: Nm
    length: Nm
    turned: bool


@dataclass(frozen=True, slots=True)
class Seam:
    """A piece wider than the roll was split: `piece` into `parts`, joined at `x` across the piece."""

    piece: str
    parts: tuple[str, ...]
    at: tuple[Nm, ...]


@dataclass(frozen=True, slots=True)
class RollPlan:
    """Every piece of one cloth and dye lot on the roll; `length` is what is used of it."""

    roll_width: Nm
    placed: tuple[PlacedCloth, ...]
    seams: tuple[Seam, ...]
    length: Nm
    bound: Nm
    proven: bool
    method: str
