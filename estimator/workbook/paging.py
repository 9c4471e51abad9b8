"""Where pages end: a table that fits on a page is not cut, and no page begins for a line or two.

Heights are worked out from the rows as they are set, so the same breaks are found whatever program prints.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

UPRIGHT_POINTS, ACROSS_POINTS = 792 - 108, 595 - 108
"""What the lower of A4 and Letter leaves between margins of three quarters of an inch, upright and across."""
FULL = 0.6
"""Share of a page used before a table longer than a page gets a new one; common practice, no source."""
FEW = 4
"""Pages above which print is not made smaller to save one; common practice, no source."""
STEPS = 20
"""Steps from the scale that the width asks for to the smallest print, where fewer pages are looked for."""


@dataclass(frozen=True, slots=True)
class Block:
    """A table or picture with what belongs to it.

    Attributes:
        top: its first row.
        points: how high it is.
        gap: empty rows under it.
    """

    top: int
    points: float
    gap: float = 0.0


@dataclass(frozen=True, slots=True)
class Pages:
    """How the blocks of a sheet fall on pages.

    Attributes:
        breaks: rows that begin a new page.
        count: pages one under the other.
        cut: blocks that run over several pages.
        scale: at which they print.
        long: whether the last block runs over several pages.
    """

    breaks: tuple[int, ...]
    count: int
    cut: int
    scale: float
    long: bool


def paged(blocks: Sequence[Block], room: float, again: float, scales: tuple[float, float]) -> Pages:
    """Return the fewest pages for blocks that stand one under the other, the fewest cut, in large print.

    Args:
        blocks: from top to bottom; the first begins with the sheet's own head.
        room: points of a page.
        again: points of what is repeated on later pages.
        scales: the largest that fits the width, and the smallest that can be read.
    """
    most, least = scales
    first = _at(blocks, room / most, again, most)
    if first.count > FEW:
        return first
    tries = (most - (most - least) * step / STEPS for step in range(1, STEPS + 1))
    return min((first, *(_at(blocks, room / s, again, s) for s in tries)), key=lambda p: (p.count, p.cut))


def _at(blocks: Sequence[Block], room: float, again: float, scale: float) -> Pages:
    used, breaks, fresh = 0.0, [], room - again
    count, cut = 1, 0
    for number, block in enumerate(blocks):
        left = room - used
        if number and block.points > left and (block.points <= fresh or used > room * FULL):
            breaks.append(block.top)
            used, left, count = again, fresh, count + 1
        over = block.points - left
        if over > 0:
            more = ceil(over / fresh)
            count, cut = count + more, cut + 1
            used = again + over - (more - 1) * fresh
        else:
            used += block.points
        used += block.gap
    return Pages(tuple(breaks), count, cut, scale, long=blocks[-1].points > fresh)
