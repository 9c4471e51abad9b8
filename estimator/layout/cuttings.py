"""Which way of cutting a band is best, by five criteria in order, and why.

The ways of cutting a band with openings into rectangles: piers beside, panels above and below.

Every corner of an opening needs a joint that runs from it, upwards (the panel stands between the piers) or
sideways (the panel runs through over the piers). The choice is made once for the top and once for the
bottom of every opening, so that the mirror image of every cutting is among those of the mirrored band.
"""

import itertools
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

from estimator.core.units import MM, Display, Nm, format_length
from estimator.layout.shapes import Rect, contact

Run: TypeAlias = Literal["between", "through"]
MOST_FREE = 3
"""Up to so many openings every combination is tried; above, those alike and those with one that differs."""
WAYS: tuple[tuple[Run, Run], ...] = (
    ("between", "between"), ("between", "through"), ("through", "between"), ("through", "through"),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class JointLine:
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
    across: list[JointLine] = []
    for hole, (top, bottom) in zip(holes, runs, strict=True):
        across += [_across(band, holes, hole.top, hole)] if top == "through" and hole.top < band.top else []
        low = bottom == "through" and hole.bottom > band.bottom
        across += [_across(band, holes, hole.bottom, hole)] if low else []
    upright: list[JointLine] = []
    for hole, (top, bottom) in zip(holes, runs, strict=True):
        inner = (x for x in (hole.left, hole.right) if band.left < x < band.right)
        upright.extend(_upright(band, holes, across, x, hole, runs=(top, bottom)) for x in inner)
    return _pieces(band, holes, across, upright)


def _across(band: Rect, holes: Sequence[Rect], z: Nm, own: Rect) -> JointLine:
    blocks = [h for h in holes if h is not own and h.bottom < z < h.top]
    start = max((h.right for h in blocks if h.right <= own.left), default=band.left)
    end = min((h.left for h in blocks if h.left >= own.right), default=band.right)
    start = own.left if _covered(own.left, z, holes) else start
    end = own.right if _covered(own.right, z, holes) else end
    return JointLine(False, z, start, end)  # noqa: FBT003 - field


def _covered(x: Nm, z: Nm, holes: Sequence[Rect]) -> bool:
    """Return whether another hole lies at a hole's corner too, so that no joint has to run from it."""
    quarters = [(dx, dz) for dx in (0, -1) for dz in (0, -1)]
    return sum(any(_has(h, x + dx, z + dz) for h in holes) for dx, dz in quarters) != 1


def _has(hole: Rect, x: Nm, z: Nm) -> bool:
    """Return whether the square nanometre whose lower-left corner is (x, z) lies in a hole."""
    return hole.left <= x < hole.right and hole.bottom <= z < hole.top


def _upright(
    band: Rect, holes: Sequence[Rect], across: Sequence[JointLine], x: Nm, own: Rect, *, runs: tuple[Run, Run]
) -> JointLine:
    stops_over = [h.bottom for h in holes if h.left < x < h.right and h.bottom >= own.top]
    stops_under = [h.top for h in holes if h.left < x < h.right and h.top <= own.bottom]
    stops_over += [line.at for line in across if line.start < x < line.end and line.at > own.top]
    stops_under += [line.at for line in across if line.start < x < line.end and line.at < own.bottom]
    short_top = runs[0] == "through" or _covered(x, own.top, holes)
    short_bottom = runs[1] == "through" or _covered(x, own.bottom, holes)
    top = own.top if short_top else min(stops_over, default=band.top)
    bottom = own.bottom if short_bottom else max(stops_under, default=band.bottom)
    return JointLine(True, x, bottom, top)  # noqa: FBT003 - field


def _pieces(
    band: Rect, holes: Sequence[Rect], across: Sequence[JointLine], upright: Sequence[JointLine]
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
    across: Sequence[JointLine],
    upright: Sequence[JointLine],
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


def _parted(a: Rect, b: Rect, across: Sequence[JointLine], upright: Sequence[JointLine]) -> bool:
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


_HUNDREDTH_MM: Nm = MM // 100
_SQUARE_CM = (10 * MM) ** 2


@dataclass(frozen=True, slots=True)
class FrameLimits:
    """What a frame may be.

    Attributes:
        narrowest: narrower or lower than this is a bad piece.
        widest, tallest: the largest that two people hang.
        heaviest_kg: the heaviest that two people hang.
        longest_rail: the longest stick; a longer rail is spliced.
        buildable: below this nothing fits between the members.
        step: sizes of equal columns are rounded to it.
        mass_kg: of a frame of that width and height.
        seam_reach: how far apart seams of the cloth may be on a frame of that width and height; None where
            the cloth covers it in one piece.
    """

    narrowest: Nm
    widest: Nm
    tallest: Nm
    heaviest_kg: float
    longest_rail: Nm
    buildable: Nm
    step: Nm
    mass_kg: Callable[[Nm, Nm], float]
    seam_reach: Callable[[Nm, Nm], Nm | None] = lambda _width, _height: None

    def seams(self, width: Nm, height: Nm) -> int:
        """Return how many seams the cloth of a frame needs."""
        reach = self.seam_reach(width, height)
        return 0 if reach is None else -(-width // reach) - 1


@dataclass(frozen=True, slots=True, order=True)
class Score:
    """The five criteria in order, the first in two parts, then what breaks ties: the lowest is the best.

    Attributes:
        bare: area in which no frame fits and which stays bare, cm2.
        narrow: frames narrower or lower than the shop's minimum.
        oversize: frames larger or heavier than two people hang.
        spliced: frames with a rail longer than a stick.
        joint: length of joints between frames and of seams in their cloth, nm, to a whole millimetre.
        lopsided: frames without a counterpart in the mirror.
        frames: how many.
    """

    bare: int
    narrow: int
    oversize: int
    spliced: int
    joint: Nm
    lopsided: int
    frames: int


@dataclass(frozen=True, slots=True)
class Cutting:
    """A cutting of a band.

    Attributes:
        pieces: left to right, bottom to top.
        tried: how many cuttings were weighed; 0 where the job gives the frames.
        following: the score of the next best.
    """

    pieces: tuple[Rect, ...]
    score: Score
    tried: int
    following: Score | None = None


NOTHING = Cutting((), Score(0, 0, 0, 0, 0, 0, 0), 0)


def too_large(piece: Rect, limits: FrameLimits) -> bool:
    """Return whether two people cannot hang it."""
    return (
        piece.width > limits.widest
        or piece.height > limits.tallest
        or limits.mass_kg(piece.width, piece.height) > limits.heaviest_kg
    )


def score(pieces: Sequence[Rect], band: Rect, limits: FrameLimits) -> Score:
    """Return how good a cutting is."""
    about = band.left + band.right
    mirrored = {_rounded(p.mirrored(about)) for p in pieces}
    return Score(
        bare=round(sum(p.area for p in pieces if min(p.width, p.height) < limits.buildable) / _SQUARE_CM),
        narrow=sum(min(p.width, p.height) < limits.narrowest for p in pieces),
        oversize=sum(too_large(p, limits) for p in pieces),
        spliced=sum(p.width > limits.longest_rail for p in pieces),
        joint=round((joint_length(pieces) + seam_length(pieces, limits)) / MM) * MM,
        lopsided=sum(_rounded(p) not in mirrored for p in pieces),
        frames=len(pieces),
    )


def _rounded(piece: Rect) -> tuple[int, ...]:
    """Return its sides to 1/100 mm: the roundings of a turned plan do not decide what is symmetrical."""
    return tuple(round(x / _HUNDREDTH_MM) for x in (piece.left, piece.bottom, piece.right, piece.top))


def _sizes(pieces: Sequence[Rect]) -> tuple[tuple[int, int], ...]:
    """Return the sizes to 1/100 mm, sorted: what breaks ties alike in a plan and in its mirror."""
    return tuple(sorted((round(p.width / _HUNDREDTH_MM), round(p.height / _HUNDREDTH_MM)) for p in pieces))


def joint_length(pieces: Sequence[Rect]) -> Nm:
    """Return the length of all joints between pieces, each counted once."""
    found = [
        contact(p, side, other)
        for p in pieces
        for side in ("right", "top")
        for other in pieces
        if other is not p
    ]
    return sum(end - start for start, end in filter(None, found))


def seam_length(pieces: Sequence[Rect], limits: FrameLimits) -> Nm:
    """Return the length of all seams in the cloth of the pieces."""
    return sum(p.height * limits.seams(p.width, p.height) for p in pieces)


def parts(length: Nm, count: int, step: Nm) -> list[Nm]:
    """Return `length` in `count` nearly equal parts, alike from either end, whole steps where that goes.

    The parts add up to `length`.
    """
    each = length // count // step * step
    sizes, left = [each] * count, length - each * count
    for i in range(count // 2):
        if left < 2 * step:
            break
        sizes[i] += step
        sizes[-1 - i] += step
        left -= 2 * step
    sizes[(count - 1) // 2] += left - left // 2
    sizes[count // 2] += left // 2
    return sizes


def split(piece: Rect, limits: FrameLimits) -> list[Rect]:
    """Return a piece cut into the fewest equal columns (and rows, where it is too tall) that can be hung.

    More columns are made only where seams are saved by it: where fewer lines, joints and seams together, are
    seen on the piece.
    """
    rows = -(-piece.height // limits.tallest)
    columns = -(-piece.width // min(limits.widest, limits.longest_rail))
    while _heavy(piece, columns, rows, limits) and _narrowed(piece, columns, limits):
        columns += 1
    columns = _fewest_lines(piece, columns, rows, limits)
    found, left = [], piece.left
    for width in parts(piece.width, columns, limits.step):
        bottom = piece.bottom
        for height in parts(piece.height, rows, limits.step):
            found.append(Rect(left, bottom, left + width, bottom + height))
            bottom += height
        left += width
    return found


def _fewest_lines(piece: Rect, columns: int, rows: int, limits: FrameLimits) -> int:
    """Return the number of columns, at least `columns`, that shows the fewest joints and seams."""
    height = -(-piece.height // rows)

    def lines(count: int) -> int:
        widest = max(parts(piece.width, count, limits.step))
        return count - 1 + count * limits.seams(widest, height)

    open_to = [n for n in range(columns, lines(columns) + 2) if piece.width // n >= limits.narrowest]
    return min(open_to, key=lines, default=columns)


def _heavy(piece: Rect, columns: int, rows: int, limits: FrameLimits) -> bool:
    return limits.mass_kg(-(-piece.width // columns), -(-piece.height // rows)) > limits.heaviest_kg


def _narrowed(piece: Rect, columns: int, limits: FrameLimits) -> bool:
    return piece.width // (columns + 1) >= limits.narrowest


def choose(band: Rect, holes: Sequence[Rect], limits: FrameLimits) -> Cutting:
    """Return the best cutting of a band less its holes; the same for the same input, whatever its order.

    Args:
        band: what frames may cover, casings taken off.
        holes: openings grown by their casings.
        limits: what a frame may be.
    """
    if not band.area:
        return NOTHING
    marks = []
    for cut in partitions(band, sorted(holes)):
        pieces = tuple(sorted(p for piece in cut for p in split(piece, limits)))
        marks.append((score(pieces, band, limits), _sizes(pieces), pieces))
    if not marks:
        return NOTHING
    marks.sort()
    following = marks[1][0] if len(marks) > 1 else None
    return Cutting(marks[0][2], marks[0][0], len(marks), following)


def columns_of(band: Rect, holes: Sequence[Rect], widths: Sequence[Nm]) -> tuple[Rect, ...] | int:
    """Return the user's columns less the holes; or the number (from 1) of one that a hole cuts upright.

    Args:
        band: what frames may cover.
        holes: grown openings.
        widths: from left to right; they add up to the band's width.
    """
    found: list[Rect] = []
    left = band.left
    for number, width in enumerate(widths, 1):
        column = Rect(left, band.bottom, left + width, band.top)
        inside = [hole.common(column) for hole in holes if hole.overlaps(column)]
        if any(part.left > column.left or part.right < column.right for part in inside):
            return number
        found += _stack(column, inside)
        left += width
    return tuple(sorted(found))


def _stack(column: Rect, inside: Sequence[Rect]) -> list[Rect]:
    found, bottom = [], column.bottom
    for part in sorted(inside, key=lambda h: h.bottom):
        if part.bottom > bottom:
            found.append(Rect(column.left, bottom, column.right, part.bottom))
        bottom = max(bottom, part.top)
    if bottom < column.top:
        found.append(Rect(column.left, bottom, column.right, column.top))
    return found


def reason(name: str, cutting: Cutting, display: Display) -> str:
    """Return one plain sentence: what was weighed, what came of it, and what decided."""
    got = cutting.score
    facts = [
        f"{got.frames} frame{'s' * (got.frames != 1)}",
        f"{got.narrow or 'none'} narrower than the shop's least",
        f"{got.oversize or 'none'} too large or heavy for two people",
        f"{got.spliced or 'none'} with a spliced rail",
        f"{format_length(got.joint, display)} of joints and seams",
        "symmetrical" if not got.lopsided else f"{got.lopsided} without a counterpart in the mirror",
    ]
    ways = {0: "as the job gives them", 1: "the only cutting"}
    said = ways.get(cutting.tried, f"best of {cutting.tried} cuttings")
    return f"{name}: {said}: {', '.join(facts)}{_decided(cutting, display)}."


_CRITERIA = {
    "bare": "least left bare",
    "narrow": "fewest narrow frames",
    "oversize": "fewest frames too large or heavy",
    "spliced": "fewest spliced rails",
    "joint": "least joints and seams",
    "lopsided": "symmetry",
    "frames": "fewest frames",
}


def _decided(cutting: Cutting, display: Display) -> str:
    if cutting.following is None:
        return ""
    for field, words in _CRITERIA.items():
        own, other = getattr(cutting.score, field), getattr(cutting.following, field)
        if own != other:
            against = f" (the next best has {format_length(other, display)})" if field == "joint" else ""
            return f"; decided by {words}{against}"
    return "; another was equally good"
