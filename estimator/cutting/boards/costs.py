"""What a filling costs: its boards as they are bought, and the work in its pieces."""

from dataclasses import dataclass
from decimal import Decimal
from typing import NamedTuple

_TRIFLE = 1e-3
"""Share of a board's price at which boards that cost nothing count, and pieces that do."""

_OVER, _OVER_PIECES = 5, 50
"""Boards, and pieces, that one board too many counts besides itself."""
_STACKED = 2
"""Boards that keep one joint from standing over another."""
_ON_SEAM = 50
"""Boards that keep one joint from a seam of the cloth."""


@dataclass(frozen=True, slots=True)
class Outlay:
    """What boards and pieces cost the shop.

    Attributes:
        piece: labour in one more piece: marked, cut, fitted; 0 where only boards count.
        packs: what each pack holds and costs; none where boards are bought one by one at their price.
        over: boards more than the least conceivable that may be taken where they save work; None for as many
            as pay.
    """

    piece: Decimal = Decimal(0)
    packs: tuple[tuple[int, Decimal], ...] = ()
    over: int | None = None

    def paid(self, boards: int, price: Decimal) -> Decimal:
        """Return what that many boards cost, in the cheapest of the mixes they are ordered in.

        Args:
            boards: how many.
            price: of one, where there are no packs.
        """
        if not self.packs:
            return boards * price
        large, dear = max(self.packs)
        small, cheap = min(self.packs)
        full, rest = divmod(boards, large)
        mixes = (
            -(-boards // large) * dear,
            full * dear + -(-rest // small) * cheap,
            -(-boards // small) * cheap,
        )
        return min(mixes)


BOARDS_ALONE = Outlay()
"""Boards at their price, and work that costs nothing."""


class Tally(NamedTuple):
    """What a filling comes to: boards, pieces, joints over others, joints at a seam of the cloth."""

    boards: int
    pieces: int
    stacked: int = 0
    on_seams: int = 0


@dataclass(frozen=True, slots=True)
class Scale:
    """What fillings are weighed by.

    Attributes:
        outlay: what boards and pieces cost.
        price: of one board.
        most: boards a filling should keep to; None for as many as pay.
    """

    outlay: Outlay
    price: Decimal
    most: int | None

    @property
    def unit(self) -> float:
        """Return the price of a board; 1 where it costs nothing."""
        return float(self.price) or 1.0

    @property
    def piece(self) -> float:
        """Return what one more piece counts; never nothing, so that of equal boards fewer pieces win."""
        return float(self.outlay.piece) or self.unit * _TRIFLE * _TRIFLE

    def boards(self, number: int) -> float:
        """Return what boards count; of two numbers at one price the smaller wins."""
        over = max(0, number - self.most) if self.most is not None else 0
        paid = float(self.outlay.paid(number, self.price))
        return paid + (number * _TRIFLE + over * _OVER) * self.unit + over * _OVER_PIECES * self.piece

    def worth(self, tally: Tally) -> float:
        """Return what a filling counts, in money; joints where none should stand count as boards."""
        joints = tally.stacked * _STACKED + tally.on_seams * _ON_SEAM
        return self.boards(tally.boards) + tally.pieces * self.piece + joints * self.unit
