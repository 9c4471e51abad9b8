"""The ways of cutting a band with openings into rectangles: piers beside, panels above and below.

Every corner of an opening needs a joint that runs from it, upwards (the panel stands between the piers) or
sideways (the panel runs through over the piers). The choice is made once for the top and once for the
bottom of every opening, so that the mirror image of every cutting is among those of the mirrored band.
"""

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

from estimator.core.units import Nm
from estimator.layout.rects import Rect

Run: TypeAlias = Literal["between", "through"]
MOST_FREE = 3
"""Up to so many openings every combination is tried; above, those alike and those with one that differs."""
WAYS: tuple[tuple[Run, Run], ...] = (
    ("between", "between"), ("between", "through"), ("through", "between"), ("through", "through"),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Line:
    """A joint line: `at` is its x where upright, else its z; from `start` to `end`."""

    upright: bool
    at: Nm
    start: Nm
    end: Nm


def partitions(band: Rect, holes: Sequence[Rect]) -> Iterator[tuple[Rect, ...]]:
    """Yield every way of cutting the band less its holes, each a sorted tuple of rectangles, no way twice.

    Args:
        band: what the frames may cover, casings already taken off.
        holes: each grown by the casing; parts outside the band are ignored.
    """
    inside = sorted({h for h in (hole.common(band) for hole in holes) if h.area})
    seen = set()
    for runs in _runs(len(inside)):
        cut = partition(band, inside, runs)
        if cut not in seen:
            seen.add(cut)
            yield cut


def _runs(count: int) -> Iterator[tuple[tuple[Run, Run], ...]]:
    if count <= MOST_FREE:
        yield from itertools.product(WAYS, repeat=count)
        return
    for way in WAYS:
        yield (way,) * count
        for at, other in itertools.product(range(count), WAYS):
            if other != way:
                yield (*(way,) * at, other, *(way,) * (count - at - 1))


def partition(band: Rect, holes: Sequence[Rect], runs: Sequence[tuple[Run, Run]]) -> tuple[Rect, ...]:
    """Return one cutting: for each hole how its (top, bottom) joints run."""
    across: list[Line] = []
    for hole, (top, bottom) in zip(holes, runs, strict=True):
        across += [_across(band, holes, hole.top, hole)] if top == "through" and hole.top < band.top else []
        low = bottom == "through" and hole.bottom > band.bottom
        across += [_across(band, holes, hole.bottom, hole)] if low else []
    upright: list[Line] = []
    for hole, (top, bottom) in zip(holes, runs, strict=True):
        inner = (x for x in (hole.left, hole.right) if band.left < x < band.right)
        upright.extend(_upright(band, holes, across, x, hole, runs=(top, bottom)) for x in inner)
    return _pieces(band, holes, across, upright)


def _across(band: Rect, holes: Sequence[Rect], z: Nm, own: Rect) -> Line:
    blocks = [h for h in holes if h is not own and h.bottom < z < h.top]
    start = max((h.right for h in blocks if h.right <= own.left), default=band.left)
    end = min((h.left for h in blocks if h.left >= own.right), default=band.right)
    start = own.left if _covered(own.left, z, holes) else start
    end = own.right if _covered(own.right, z, holes) else end
    return Line(False, z, start, end)  # noqa: FBT003 - field


def _covered(x: Nm, z: Nm, holes: Sequence[Rect]) -> bool:
    """Return whether another hole lies at a hole's corner too, so that no joint has to run from it."""
    quarters = [(dx, dz) for dx in (0, -1) for dz in (0, -1)]
    return sum(any(_has(h, x + dx, z + dz) for h in holes) for dx, dz in quarters) != 1


def _has(hole: Rect, x: Nm, z: Nm) -> bool:
    """Return whether the square nanometre whose lower-left corner is (x, z) lies in a hole."""
    return hole.left <= x < hole.right and hole.bottom <= z < hole.top


def _upright(
    band: Rect, holes: Sequence[Rect], across: Sequence[Line], x: Nm, own: Rect, *, runs: tuple[Run, Run]
) -> Line:
    stops_over = [h.bottom for h in holes if h.left < x < h.right and h.bottom >= own.top]
    stops_under = [h.top for h in holes if h.left < x < h.right and h.top <= own.bottom]
    stops_over += [line.at for line in across if line.start < x < line.end and line.at > own.top]
    stops_under += [line.at for line in across if line.start < x < line.end and line.at < own.bottom]
    short_top = runs[0] == "through" or _covered(x, own.top, holes)
    short_bottom = runs[1] == "through" or _covered(x, own.bottom, holes)
    top = own.top if short_top else min(stops_over, default=band.top)
    bottom = own.bottom if short_bottom else max(stops_under, default=band.bottom)
    return Line(True, x, bottom, top)  # noqa: FBT003 - field


def _pieces(
    band: Rect, holes: Sequence[Rect], across: Sequence[Line], upright: Sequence[Line]
) -> tuple[Rect, ...]:
    xs = sorted({band.left, band.right, *(x for h in holes for x in (h.left, h.right))})
    zs = sorted({band.bottom, band.top, *(z for h in holes for z in (h.bottom, h.top))})
    cells = {
        (i, j): Rect(xs[i], zs[j], xs[i + 1], zs[j + 1])
        for i in range(len(xs) - 1)
        for j in range(len(zs) - 1)
    }
    open_cells = {key: cell for key, cell in cells.items() if not any(cell.overlaps(h) for h in holes)}
    pieces, done = [], set()
    for i, j in sorted(open_cells):
        if (i, j) not in done:
            group = _joined((i, j), open_cells, across, upright)
            done |= group
            pieces.append(_hull([open_cells[key] for key in group]))
    return tuple(sorted(pieces))


def _joined(
    first: tuple[int, int],
    cells: dict[tuple[int, int], Rect],
    across: Sequence[Line],
    upright: Sequence[Line],
) -> set[tuple[int, int]]:
    group, edge = {first}, [first]
    while edge:
        i, j = edge.pop()
        cell = cells[i, j]
        for key in ((i + 1, j), (i - 1, j), (i, j + 1), (i, j - 1)):
            if key in cells and key not in group and not _parted(cell, cells[key], across, upright):
                group.add(key)
                edge.append(key)
    return group


def _parted(a: Rect, b: Rect, across: Sequence[Line], upright: Sequence[Line]) -> bool:
    if a.left == b.left:
        z = a.top if a.top == b.bottom else a.bottom
        return any(n.at == z and n.start <= a.left and a.right <= n.end for n in across)
    x = a.right if a.right == b.left else a.left
    return any(n.at == x and n.start <= a.bottom and a.top <= n.end for n in upright)


def _hull(cells: Sequence[Rect]) -> Rect:
    return Rect(
        min(c.left for c in cells), min(c.bottom for c in cells),
        max(c.right for c in cells), max(c.top for c in cells),
    )  # fmt: skip
