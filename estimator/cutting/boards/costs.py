"""What a filling costs: its boards as they are bought, and the work in its pieces."""

from dataclasses import dataclass
from decimal import Decimal
from typing import NamedTuple

_TRIFLE = 1e-3
"""Share of a board's price at which boards that cost nothing count, and pieces that do."""
_STACKED = 2
"""Boards that keep one joint from standing over another: own judgement."""


@dataclass(frozen=True, slots=True)
class Outlay:
    """What boards and pieces cost the shop.

    Attributes:
        piece: labour in one more piece: marked, cut, fitted; 0 where only boards count.
        packs: what each pack holds and costs; none where boards are bought one by one at their price.
    """

    piece: Decimal = Decimal(0)
    packs: tuple[tuple[int, Decimal], ...] = ()

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
    """What a filling comes to: boards, pieces, joints over others."""

    boards: float
    pieces: int
    stacked: int = 0


@dataclass(frozen=True, slots=True)
class Scale:
    """What fillings are weighed by.

    Attributes:
        outlay: what boards and pieces cost.
        price: of one board.
        usual: how many boards are thought of where one more or less is weighed.
    """

    outlay: Outlay
    price: Decimal
    usual: int = 1

    @property
    def unit(self) -> float:
        """Return what a board costs in a usual number of them; 1 where it costs nothing."""
        return float(self.outlay.paid(self.usual, self.price)) / self.usual or 1.0

    @property
    def piece(self) -> float:
        """Return what one more piece counts; never nothing, so that of equal boards fewer pieces win."""
        return float(self.outlay.piece) or self.unit * _TRIFLE * _TRIFLE

    def work(self, tally: Tally) -> float:
        """Return what pieces count; joints over others count as boards, and boards a trifle."""
        return tally.pieces * self.piece + (tally.stacked * _STACKED + tally.boards * _TRIFLE) * self.unit

    def about(self, tally: Tally) -> float:
        """Return what a filling counts on the way, where every board costs alike, whatever packs hold."""
        return tally.boards * self.unit + self.work(tally)

    def worth(self, tally: Tally) -> float:
        """Return what a filling counts at last, its boards as they are bought."""
        return float(self.outlay.paid(int(tally.boards), self.price)) + self.work(tally)
