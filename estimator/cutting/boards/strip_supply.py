"""Strips of one breadth, and the courses filled from them piece by piece."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from estimator.core.units import MM, Nm

CLEAR = 10 * MM
"""Closest a joint may stand to a seam of the cloth: common practice, no source."""

SPARING = 2
"""The thrift that spends joints to leave no useless end."""


@dataclass(slots=True)
class Strip:
    """A strip taken from a board.

    Attributes:
        pieces: its pieces in order: length, number of the course, place in the course.
        left: what is left of it.
    """

    pieces: list[tuple[Nm, int, int]]
    left: Nm


@dataclass(slots=True)
class Supply:
    """Every strip of one breadth so far.

    Attributes:
        length: length of a new strip.
        kerf: width of a saw cut.
        least: shortest piece.
        thrift: 0 for the fewest joints; 1 to begin a course with what an earlier one left over, at the
            price of a joint more; 2 to spend a joint also where a strip would leave a useless end.
    """

    length: Nm
    kerf: Nm
    least: Nm
    thrift: int
    strips: list[Strip] = field(default_factory=list)

    def take(self, strip: Strip, piece: Nm, course: int, place: int) -> None:
        """Cut a piece off a strip."""
        strip.pieces.append((piece, course, place))
        strip.left = max(0, strip.left - piece - self.kerf)

    def new(self) -> Strip:
        """Return a fresh strip."""
        strip = Strip([], self.length)
        self.strips.append(strip)
        return strip

    def usable(self) -> list[Strip]:
        """Return the strips with a piece left in them, the shortest first."""
        return sorted((s for s in self.strips if s.left >= max(1, self.least)), key=lambda s: s.left)


@dataclass(frozen=True, slots=True)
class Run:
    """A course to be filled.

    Attributes:
        number: its number.
        length: how long it is.
        near: places its joints keep `apart` from, where they can: joints of the layer before.
        never: places no joint may come near: seams of the cloth.
        apart: how far.
    """

    number: int
    length: Nm
    near: tuple[Nm, ...]
    never: tuple[Nm, ...]
    apart: Nm

    def clear(self, joint: Nm, *, strict: bool) -> bool:
        """Return whether a joint may stand there; `strict` keeps it apart from the layer before."""
        if any(abs(joint - place) < CLEAR for place in self.never):
            return False
        return not strict or all(abs(joint - place) >= self.apart for place in self.near)


def longest_piece(run: Run, at: Nm, most: Nm, least: Nm, *, strict: bool) -> Nm:
    """Return the longest piece from `at` on whose joint may stand where it ends; 0 where there is none.

    Args:
        run: the course.
        at: where the piece begins.
        most: no longer than this.
        least: no shorter than this, and neither is what remains of the course.
        strict: see `Run.clear`.
    """
    need = run.length - at
    if need <= most:
        return need
    low, high = at + max(1, least), min(at + most, run.length - max(1, least))
    ends = {high}
    for place in run.never:
        ends |= {place - CLEAR}
    if strict:
        ends |= {place - run.apart for place in run.near}
    fit = [end for end in ends if low <= end <= high and run.clear(end, strict=strict)]
    return max(fit) - at if fit else 0


def _from_leftover(supply: Supply, run: Run, at: Nm, *, strict: bool) -> tuple[Strip, Nm] | None:
    """Return a leftover and the piece to cut from it, None where a new strip is better."""
    need = run.length - at
    leftovers = supply.usable()
    whole = [s for s in leftovers if s.left >= need]
    tidy = [s for s in whole if s.left - need - supply.kerf >= supply.least or s.left == need]
    if tidy or (whole and supply.thrift < SPARING):
        return (tidy or whole)[0], need
    if not supply.thrift:
        return None
    for strip in reversed(leftovers):
        piece = longest_piece(run, at, strip.left, supply.least, strict=strict)
        if piece:
            return strip, piece
    return None


def _short(supply: Supply, run: Run, at: Nm, left: Nm, piece: Nm) -> Nm:
    """Return the piece cut shorter where it would leave a useless end, so that the end is long enough to use.

    What the course then lacks is one of the other leftovers where that fits.
    """
    end, need = left - piece - supply.kerf, run.length - at
    if supply.thrift < SPARING or piece < need or end <= 0 or end >= supply.least:
        return piece
    fit = [s.left for s in supply.usable() if supply.least <= s.left < need]
    for lack in (*fit, max(1, supply.least)):
        short = need - lack
        clear = run.clear(at + short, strict=True)
        if clear and short >= max(1, supply.least) and left - short - supply.kerf >= supply.least:
            return short
    return piece


def fill_run(supply: Supply, run: Run) -> list[Nm]:
    """Return the lengths of the pieces that fill the course, in order, cut from the supply."""
    at = 0
    pieces: list[Nm] = []
    while at < run.length:
        found = _from_leftover(supply, run, at, strict=True)
        if found is None:
            most = supply.length
            piece = longest_piece(run, at, most, supply.least, strict=True)
            piece = piece or longest_piece(run, at, most, supply.least, strict=False)
            found = supply.new(), piece or min(most, run.length - at)
        strip, piece = found
        piece = _short(supply, run, at, strip.left, piece)
        supply.take(strip, piece, run.number, len(pieces))
        pieces.append(piece)
        at += piece
    return pieces


def joints(pieces: Sequence[Nm]) -> list[Nm]:
    """Return where the joints between consecutive pieces are."""
    places, at = [], 0
    for piece in pieces[:-1]:
        at += piece
        places.append(at)
    return places
