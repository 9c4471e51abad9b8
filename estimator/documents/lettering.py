"""Text measured before it is placed, and places found for it so that no text stands over another.

Widths are those of a wide sans serif face, so that text set in a narrower one takes less than its box.
Source: advance widths of DejaVu Sans 2.37 (table hmtx), rounded up to 1/100 em.
"""

from collections.abc import Sequence
from typing import NamedTuple

ASCENT_EM, DESCENT_EM = 0.76, 0.24
"""Height of capitals, and of what hangs below the line. Source: glyph outlines of DejaVu Sans 2.37."""
WIDEST_EM = 1.43
"""Any character that is not listed. Source: widest advance of DejaVu Sans up to U+024F."""
_WIDTHS = {
    0.23: "′", 0.28: "'ijl", 0.30: "IJ", 0.32: " ,.·", 0.34: "/:;\\|", 0.36: "f", 0.37: "-", 0.38: "″",
    0.40: "()[]t", 0.41: "!²³", 0.42: "r", 0.46: '"', 0.50: "*_`°–", 0.53: "sz", 0.54: "?", 0.55: "c",
    0.56: "L", 0.58: "Fk", 0.60: "vxy", 0.61: "P", 0.62: "TYaeo", 0.64: "$0123456789ESbdghnpqu{}", 0.66: "K",
    0.69: "ABVXZ", 0.70: "CR", 0.74: "U", 0.75: "N", 0.76: "H", 0.78: "&DG", 0.79: "OQ", 0.82: "w",
    0.84: "#+<=>^~×≥±", 0.87: "M", 0.96: "%", 0.97: "½¼¾", 0.98: "m", 0.99: "W", 1.00: "@",
}  # fmt: skip
_EM = {letter: width for width, letters in _WIDTHS.items() for letter in letters}


class Box(NamedTuple):
    """A rectangle on the paper, mm, y downwards."""

    x: float
    y: float
    width: float
    height: float

    def overlaps(self, other: "Box") -> bool:
        """Return whether the two have area in common."""
        return (
            self.x < other.x + other.width
            and other.x < self.x + self.width
            and self.y < other.y + other.height
            and other.y < self.y + self.height
        )

    def within(self, other: "Box") -> bool:
        """Return whether nothing of this sticks out of the other."""
        return (
            other.x <= self.x
            and other.y <= self.y
            and self.x + self.width <= other.x + other.width
            and self.y + self.height <= other.y + other.height
        )

    @property
    def middle(self) -> tuple[float, float]:
        """Return the middle."""
        return self.x + self.width / 2, self.y + self.height / 2


def text_width(text: str, size: float) -> float:
    """Return how wide a text is at most, in the unit of `size`.

    Args:
        text: one line.
        size: of the letters (one em).
    """
    return size * sum(_EM.get(letter, WIDEST_EM) for letter in text)


def spread(wanted: Sequence[float], gap: float, low: float, high: float) -> list[float]:
    """Return places in the order wanted, each at least `gap` from the next, moved as little as can be.

    They stay between `low` and `high` as long as there is room for all of them; if there is not, they run on
    beyond `high`.

    Source: isotonic regression by pooling adjacent violators (Barlow and others 1972, from memory).

    Args:
        wanted: in rising order.
        gap: least distance.
        low: least place.
        high: greatest place.
    """
    pools: list[tuple[float, int]] = []
    for number, want in enumerate(wanted):
        pools.append((want - number * gap, 1))
        while len(pools) > 1 and pools[-2][0] > pools[-1][0]:
            (last, many), (before, others) = pools.pop(), pools.pop()
            pools.append(((last * many + before * others) / (many + others), many + others))
    top = max(low, high - (len(wanted) - 1) * gap)
    level = [min(max(value, low), top) for value, count in pools for _ in range(count)]
    return [value + number * gap for number, value in enumerate(level)]
