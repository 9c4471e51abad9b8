"""Where pages end: a table that fits on a page is not cut, and no page begins for a line or two.

Empty rows that find no room under a table head the next page, where no page is turned for them.

Heights are worked out from the rows as they are set, so the same breaks are found whatever program prints.
"""

from collections.abc import Sequence
from dataclasses import dataclass

FULL = 0.6
"""Share of a page used before a table longer than a page gets a new one; common practice, no source."""
FEW = 4
"""Pages above which print is not made smaller to save one; common practice, no source."""
FEW_ROWS, HEAD_ROWS = 8, 4
"""Rows below which a table's last page takes some of the page before; rows of a table's title and heads."""
PERCENT, TOLERANCE = 100, 1e-6
"""Files hold the size of print in whole percents; what a share of 0.8 may miss of 80 for want of digits."""
MANY = 20
"""Pages of one table above which none of its ends is set, and its last page is as it falls."""


@dataclass(frozen=True, slots=True)
class PageBlock:
    """A table or picture with what belongs to it.

    Attributes:
        top: its first row.
        rows: how high each of its rows is, points.
        gap: points of the empty rows under it.
    """

    top: int
    rows: tuple[float, ...]
    gap: float = 0.0

    @property
    def points(self) -> float:
        """Return how high it is."""
        return sum(self.rows)


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


def paged(blocks: Sequence[PageBlock], room: float, again: float, scales: tuple[float, float]) -> Pages:
    """Return the fewest pages for blocks that stand one under the other, the fewest cut, in large print.

    Args:
        blocks: from top to bottom; the first begins with the sheet's own head.
        room: points of a page.
        again: points of what is repeated on later pages.
        scales: the largest that fits the width, and the smallest that can be read; whole percents are tried.
    """
    most, least = (int(scale * PERCENT + TOLERANCE) for scale in scales)
    tries = (_at(blocks, room, again, percent / PERCENT) for percent in range(most, least - 1, -1))
    first = next(tries)
    return first if first.count > FEW else min((first, *tries), key=lambda p: (p.count, p.cut))


def _at(blocks: Sequence[PageBlock], room: float, again: float, scale: float) -> Pages:
    room /= scale
    used, breaks, fresh = 0.0, [], room - again
    count, cut = 1, 0
    for number, block in enumerate(blocks):
        left, points = room - used, block.points
        if number and points > left and (points <= fresh or used > room * FULL):
            above = blocks[number - 1]
            breaks.append(above.top + len(above.rows) if used > room else block.top)
            used = again + (above.gap if used > room else 0.0)
            left, count = room - used, count + 1
        if points > left:
            starts, moved = _evened(_starts(block.rows, left, fresh), len(block.rows))
            breaks += [block.top + start for start in starts if moved]
            count, cut = count + len(starts), cut + 1
            used = again + sum(block.rows[starts[-1] :])
        else:
            used += points
        used += block.gap
    return Pages(tuple(breaks), count, cut, scale, long=blocks[-1].points > fresh)


def _starts(rows: Sequence[float], left: float, fresh: float) -> list[int]:
    """Return the rows that begin pages, the first page having room for `left`, each later one for `fresh`."""
    found: list[int] = []
    free = left
    for number, own in enumerate(rows):
        if own > free and number not in found[-1:]:
            found.append(number)
            free = fresh
        free -= own
    return found


def _evened(starts: list[int], count: int) -> tuple[list[int], bool]:
    """Return the rows that begin pages, the last with rows of the page before if it has few, and whether so.

    The page before keeps the heads and half of what the two hold.
    """
    before = starts[-2] if len(starts) > 1 else 0
    last = max(count - FEW_ROWS, before + (count - before + HEAD_ROWS) // 2)
    if last >= starts[-1] or len(starts) >= MANY:
        return starts, False
    return [*starts[:-1], last], True
