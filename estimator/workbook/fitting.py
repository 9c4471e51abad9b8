"""Widths of a sheet's columns and the page they are printed on, decided together from what the cells hold.

Text that wraps gives way first: its columns are narrowed alike until the sheet fits the page. Upright paper
is taken where it is wide enough, in print down to `LEAST_SCALE`, else paper laid across. What is still too
wide is cut into groups of columns on purpose, the names of the rows repeated on each.
"""

from collections.abc import Mapping
from dataclasses import dataclass

UNIT_POINTS = 5.56
"""Width of one character of a column: a digit of Arial 10, 0.556 em; programs round it to 5.25 on screens."""
UPRIGHT_POINTS, ACROSS_POINTS = 595 - 72, 792 - 72
"""What the narrower of A4 (210 x 297 mm) and Letter (8.5 x 11 in) leaves between margins of half an inch."""
LEAST_SCALE = 0.8
"""Smallest print, so that letters of 10 and 9 points can still be read; common practice, no source."""
SCALES = (1.0, 0.9, LEAST_SCALE)
COMFORT = 34.0
"""Characters a column of running text may ask for before the paper is turned; common practice, no source."""
FEW_LINES = 2
"""Lines that a text may take before print is made smaller to widen its column; common practice, no source."""
NAMES = 2
"""The column of the rows' names, the first that is seen."""
SLACK = 0.98
"""Share of the page that columns fill where the scale is set, so that no rounding moves one to the next."""


@dataclass(frozen=True, slots=True)
class Fit:
    """How a sheet stands on its pages.

    Attributes:
        widths: of each column, in characters.
        across: whether the paper lies across.
        scale: at which its width fits, at most 1.
        most: largest scale that may be set without another program's rounding moving a column.
        groups: first column of each group; one group for a sheet that is one page wide.
    """

    widths: Mapping[int, float]
    across: bool
    scale: float
    most: float
    groups: tuple[int, ...]


def _capped(least: Mapping[int, float], wants: Mapping[int, float], cap: float) -> dict[int, float]:
    return {c: max(least[c], min(wants[c], cap)) for c in wants}


def _widest_cap(least: Mapping[int, float], wants: Mapping[int, float], room: float) -> dict[int, float]:
    """Return the widths of the largest whole cap that keeps them within `room`."""
    caps = range(int(max(wants.values())) + 1, 0, -1)
    tries = (_capped(least, wants, float(cap)) for cap in caps)
    return next((t for t in tries if sum(t.values()) <= room), dict(least))


def fitted(least: Mapping[int, float], wants: Mapping[int, float]) -> Fit:
    """Return widths and page of the columns that are seen.

    Args:
        least: by column, characters without which a number or word is cut.
        wants: by column, characters that hold every text in one line.
    """
    easy = sum(_capped(least, wants, COMFORT).values())
    for points in (UPRIGHT_POINTS, ACROSS_POINTS):
        rooms = [points / UNIT_POINTS / scale for scale in SCALES]
        tries = [_widest_cap(least, wants, room) for room in rooms if easy <= room]
        if tries:
            short = (t for t in tries if all(wants[c] <= FEW_LINES * t[c] for c in t))
            return _one_page(next(short, tries[-1]), points)
    widths = _widest_cap(least, wants, ACROSS_POINTS / UNIT_POINTS / LEAST_SCALE)
    if sum(widths.values()) <= ACROSS_POINTS / UNIT_POINTS / LEAST_SCALE:
        return _one_page(widths, ACROSS_POINTS)
    return _grouped(_capped(least, wants, COMFORT))


def _one_page(widths: dict[int, float], points: float) -> Fit:
    scale = points / UNIT_POINTS / sum(widths.values())
    return Fit(widths, points == ACROSS_POINTS, min(1.0, scale), min(1.0, scale * SLACK), (NAMES,))


def _grouped(widths: dict[int, float]) -> Fit:
    """Return the fewest groups whose pages hold the names and their own columns, as even as can be."""
    room = ACROSS_POINTS / UNIT_POINTS * SLACK
    fewest = len(_split(widths, room / LEAST_SCALE))
    limits = range(int(max(widths.values())), int(room / LEAST_SCALE) + 1)
    limit = next((n for n in limits if len(_split(widths, n)) == fewest), room / LEAST_SCALE)
    scale = min(1.0, room / limit)
    return Fit(widths, across=True, scale=scale, most=scale, groups=_split(widths, limit))


def _split(widths: Mapping[int, float], room: float) -> tuple[int, ...]:
    """Return the first columns of groups filled one after the other."""
    firsts, used = [NAMES], 0.0
    for column in sorted(widths):
        if used and used + widths[column] > room:
            firsts.append(column)
            used = widths[NAMES]
        used += widths[column]
    return tuple(firsts)
