"""Which way of cutting a band is best, by five criteria in order, and why."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from estimator.core.units import MM, Display, Nm, format_length
from estimator.layout.bands import partitions
from estimator.layout.rects import Rect, contact

_HUNDREDTH_MM: Nm = MM // 100
_SQUARE_CM = (10 * MM) ** 2


@dataclass(frozen=True, slots=True)
class Limits:
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


def too_large(piece: Rect, limits: Limits) -> bool:
    """Return whether two people cannot hang it."""
    return (
        piece.width > limits.widest
        or piece.height > limits.tallest
        or limits.mass_kg(piece.width, piece.height) > limits.heaviest_kg
    )


def score(pieces: Sequence[Rect], band: Rect, limits: Limits) -> Score:
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


def seam_length(pieces: Sequence[Rect], limits: Limits) -> Nm:
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


def split(piece: Rect, limits: Limits) -> list[Rect]:
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


def _fewest_lines(piece: Rect, columns: int, rows: int, limits: Limits) -> int:
    """Return the number of columns, at least `columns`, that shows the fewest joints and seams."""
    height = -(-piece.height // rows)

    def lines(count: int) -> int:
        widest = max(parts(piece.width, count, limits.step))
        return count - 1 + count * limits.seams(widest, height)

    open_to = [n for n in range(columns, lines(columns) + 2) if piece.width // n >= limits.narrowest]
    return min(open_to, key=lines, default=columns)


def _heavy(piece: Rect, columns: int, rows: int, limits: Limits) -> bool:
    return limits.mass_kg(-(-piece.width // columns), -(-piece.height // rows)) > limits.heaviest_kg


def _narrowed(piece: Rect, columns: int, limits: Limits) -> bool:
    return piece.width // (columns + 1) >= limits.narrowest


def choose(band: Rect, holes: Sequence[Rect], limits: Limits) -> Cutting:
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
