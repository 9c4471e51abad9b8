"""Widths of a sheet's columns and the page they are printed on, decided together from what the cells hold.

Text that wraps gives way first: its columns are narrowed until the sheet fits the page, alike or the longer
texts less, as makes the rows lower. Upright paper
is taken where it is wide enough, in print down to `LEAST_SCALE`, else paper laid across. What is still too
wide is cut into groups of columns on purpose, the names of the rows repeated on each.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import ceil

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
SHAPES = (0.0, 0.25, 0.5, 0.75)
"""How room is shared among texts too long for it: as this power of what each asks for; 0 is alike."""
HALVINGS = 30
LINE_POINTS = 14.0
"""Height of a row of one line, and about what each line more adds."""
PAGE_POINTS = {False: 792 - 108, True: 595 - 108}
"""What the lower of A4 and Letter leaves for rows, upright and across."""

Widths = Mapping[int, float]
Height = Callable[[Widths], float]
"""How high the rows are at given widths; any unit."""


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


def _capped(least: Widths, wants: Widths, cap: float, shape: float = 0.0) -> dict[int, float]:
    return {c: max(least[c], min(wants[c], cap * wants[c] ** shape)) for c in wants}


def _widest(least: Widths, wants: Widths, room: float, shape: float) -> dict[int, float]:
    """Return the widths of the largest cap of this shape that keeps them within `room`."""
    if sum(wants.values()) <= room:
        return dict(wants)
    found, low, high = dict(least), 0.0, max(wants.values())
    for _ in range(HALVINGS):
        cap = (low + high) / 2
        widths = _capped(least, wants, cap, shape)
        if sum(widths.values()) <= room:
            found, low = widths, cap
        else:
            high = cap
    return found


def _lowest(least: Widths, wants: Widths, room: float, height: Height) -> dict[int, float]:
    """Return the widths within `room`, of any shape, at which the rows are lowest."""
    alike = _widest(least, wants, room, SHAPES[0])
    if alike == wants or sum(least.values()) >= room:
        return alike
    others = (_widest(least, wants, room, shape) for shape in SHAPES[1:])
    return min((alike, *others), key=height)


def fitted(least: Widths, wants: Widths, height: Height = len, heads: float = 0.0) -> Fit:
    """Return widths and page of the columns that are seen.

    Args:
        least: by column, characters without which a number or word is cut.
        wants: by column, characters that hold every text in one line.
        height: of the rows in lines, by the widths; without it the longer texts are narrowed as the shorter.
        heads: characters of the longest title, which keeps to the names where columns stand in groups.
    """
    easy = sum(_capped(least, wants, COMFORT).values())
    for points in (UPRIGHT_POINTS, ACROSS_POINTS):
        rooms = [points / UNIT_POINTS / scale for scale in SCALES]
        tries = [_lowest(least, wants, room, height) for room in rooms if easy <= room]
        if tries:
            short = (t for t in tries if all(wants[c] <= FEW_LINES * t[c] for c in t))
            usual = _one_page(next(short, tries[-1]), points)
            small = _one_page(tries[-1], points)
            return small if _pages(small, height) < _pages(usual, height) else usual
    widths = _lowest(least, wants, ACROSS_POINTS / UNIT_POINTS / LEAST_SCALE, height)
    if sum(widths.values()) <= ACROSS_POINTS / UNIT_POINTS / LEAST_SCALE:
        return _one_page(widths, ACROSS_POINTS)
    large, small = (_grouped(least, wants, heads, most) for most in (1.0, LEAST_SCALE))
    return small if _pages(small, height) < _pages(large, height) else large


def _pages(fit: Fit, height: Height) -> int:
    """Return about how many pages the rows take, one under the other."""
    high = PAGE_POINTS[fit.across] / fit.scale
    return ceil(height(fit.widths) * LINE_POINTS / high)


def _one_page(widths: dict[int, float], points: float) -> Fit:
    scale = points / UNIT_POINTS / sum(widths.values())
    return Fit(widths, points == ACROSS_POINTS, min(1.0, scale), min(1.0, scale * SLACK), (NAMES,))


def _grouped(least: Widths, wants: Widths, heads: float, most: float) -> Fit:
    """Return the fewest groups whose pages hold the names and their own columns, as even as can be.

    What the pages have left over goes to the names, for the heads that stand in their column, and to texts.
    Print is no larger than `most`, and smaller where that keeps the heads in one line.
    """
    widths = _capped(least, wants, COMFORT)
    room = ACROSS_POINTS / UNIT_POINTS * SLACK
    fewest = len(_split(widths, room / LEAST_SCALE))
    limits = range(int(max(widths.values())), int(room / LEAST_SCALE) + 1)
    limit = next((n for n in limits if len(_split(widths, n)) == fewest), room / LEAST_SCALE)
    groups = _split(widths, limit)
    beside = max(heads - widths[NAMES], 0.0)
    scale = max(min(most, room / (limit + beside)), LEAST_SCALE)
    _fill(widths, {**wants, NAMES: max(wants[NAMES], heads)}, groups, room / scale)
    return Fit(widths, across=True, scale=scale, most=scale, groups=groups)


def _fill(widths: dict[int, float], wants: Widths, groups: tuple[int, ...], room: float) -> None:
    """Give what every page has left to the names, then what each has left to its own columns."""
    ends = (*groups[1:], max(widths) + 1)
    pages = [[c for c in widths if a <= c < b and c != NAMES] for a, b in zip(groups, ends, strict=True)]
    most = room - max(sum(widths[c] for c in own) for own in pages)
    widths[NAMES] = max(widths[NAMES], min(wants[NAMES], most))
    for own in pages:
        kept, asked = ({c: held[c] for c in own} for held in (widths, wants))
        widths |= _widest(kept, asked, room - widths[NAMES], SHAPES[0])


def _split(widths: Mapping[int, float], room: float) -> tuple[int, ...]:
    """Return the first columns of groups filled one after the other."""
    firsts, used = [NAMES], 0.0
    for column in sorted(widths):
        if used and used + widths[column] > room:
            firsts.append(column)
            used = widths[NAMES]
        used += widths[column]
    return tuple(firsts)
