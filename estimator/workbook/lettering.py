"""How wide text is in the workbook's face, so that columns fit it and rows are as high as it wraps.

Widths are those of Helvetica, which Arial and the faces that stand in for it share.
Source: Adobe Core 14 font metrics (AFM), Helvetica, rounded up to 1/100 em; from memory.
"""

from functools import lru_cache

BOLD = 1.08
"""Bold letters against plain ones; the same metrics, over the small letters."""
WIDEST_EM = 1.02
TOLERANCE = 0.5
"""Points that a line may be longer than its room; sums of widths differ by less."""
LINE_EM, PAD_POINTS = 1.2, 2.0
"""Height of a line in em, and what a row keeps above and below; common practice, no source."""
KEPT_TEXTS = 1 << 15
"""Texts whose measure is kept: names and words return in row after row."""
_WIDTHS = {
    0.20: "'", 0.23: "ijl", 0.27: "|", 0.28: " \u00a0!,./:;I[\\]ft·", 0.34: "()-`r{}²³", 0.36: '"', 0.39: "*",
    0.40: "°", 0.47: "^", 0.50: "Jcksvxyz", 0.56: "#$?0123456789L_abdeghnopqu–", 0.59: "+<=>~×÷",
    0.62: "FTZ", 0.67: "&ABEKPSVXY", 0.73: "CDHNRUw", 0.78: "GOQ", 0.84: "Mm½¼¾", 0.89: "%", 0.95: "W",
}  # fmt: skip
_EM = {letter: width for width, letters in _WIDTHS.items() for letter in letters}


@lru_cache(maxsize=KEPT_TEXTS)
def text_points(text: str, size: float, *, bold: bool = False) -> float:
    """Return how wide one line of text is, in points.

    Args:
        text: one line.
        size: of the letters, points.
        bold: whether they are bold.
    """
    return size * (BOLD if bold else 1.0) * sum(_EM.get(letter, WIDEST_EM) for letter in text)


@lru_cache(maxsize=KEPT_TEXTS)
def line_count(text: str, size: float, room: float, *, bold: bool = False) -> int:
    """Return the lines a text takes when it wraps at words in `room` points."""
    space = text_points(" ", size, bold=bold)
    count = 0
    for part in text.split("\n"):
        used = 0.0
        count += 1
        for word in part.split(" "):
            wide = text_points(word, size, bold=bold)
            if used and used + wide > room + TOLERANCE:
                count, used = count + 1, 0.0
            count += max(int((wide - 1) // max(room, 1.0)), 0)
            used += wide + space
    return count


def row_points(lines: int, size: float) -> float:
    """Return how high a row of so many lines is, in points."""
    return round(lines * size * LINE_EM + PAD_POINTS, 1)
