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
STEPS = 20
"""Steps from the scale that the width asks for to the smallest print, where fewer pages are looked for."""


@dataclass(frozen=True, slots=True)
class Block:
    """A table or picture with what belongs to it.

    Attributes:
        top: its first row.
        points: how high it is.
    """

    top: int
    points: float


@dataclass(frozen=True, slots=True)
class Pages:
    """How the blocks of a sheet fall on pages.

    Attributes:
        breaks: rows that begin a new page.
        count: pages one under the other.
        scale: at which they print.
        long: whether the last block runs over several pages.
    """

    breaks: tuple[int, ...]
    count: int
    scale: float
    long: bool


def paged(blocks: Sequence[Block], room: float, again: float, scales: tuple[float, float]) -> Pages:
    """Return the fewest pages for blocks that stand one under the other, in the largest print.

    Args:
        blocks: from top to bottom; the first begins with the sheet's own head.
        room: points of a page.
        again: points of what is repeated on later pages.
        scales: the largest that fits the width, and the smallest that can be read.
    """
    most, least = scales
    tries = (most - (most - least) * step / STEPS for step in range(STEPS + 1 if most > least else 1))
    return min((_at(blocks, room / scale, again, scale) for scale in tries), key=lambda p: p.count)


def _at(blocks: Sequence[Block], room: float, again: float, scale: float) -> Pages:
    used, breaks, count, fresh = 0.0, [], 1, room - again
    for number, block in enumerate(blocks):
        left = room - used
        if number and block.points > left and (block.points <= fresh or used > room * FULL):
            breaks.append(block.top)
            used, left, count = again, fresh, count + 1
        over = block.points - left
        if over > 0:
            more = ceil(over / fresh)
            count += more
            used = again + over - (more - 1) * fresh
        else:
            used += block.points
    return Pages(tuple(breaks), count, scale, long=blocks[-1].points > fresh)
