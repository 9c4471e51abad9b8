"""Ways to fill a cavity by courses: bands side by side, each as long as the cavity, joined end to end within.

A band is cut from strips. A strip is either ripped (as long as the board) or crosscut (as long as the board
is wide). A band as wide as the board is made of whole boards.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations_with_replacement
from typing import Literal, NamedTuple, TypeAlias

from estimator.core.units import Nm

Way: TypeAlias = Literal["ripped", "crosscut"]
PAIR = 2
"""Parts of an odd course split in two."""
_MOST_PARTNERS = 6


@dataclass(frozen=True, slots=True)
class Board:
    """A board as the saw sees it: `width` is its shorter side; `least` the smallest side a piece may have."""

    width: Nm
    length: Nm
    kerf: Nm
    least: Nm

    def strip_length(self, way: Way) -> Nm:
        """Return how long a strip cut that way is."""
        return self.length if way == "ripped" else self.width

    def span(self, way: Way) -> Nm:
        """Return the side that strips cut that way lie along."""
        return self.width if way == "ripped" else self.length


class Band(NamedTuple):
    """What a course is made of: strips of one breadth, cut one way."""

    breadth: Nm
    way: Way


class Scheme(NamedTuple):
    """How a cavity is filled: courses upright (along its height) or level, and their bands in order."""

    upright: bool
    bands: tuple[Band, ...]


def _single(breadth: Nm, board: Board) -> Iterator[tuple[Band, ...]]:
    if breadth <= board.width:
        yield (Band(breadth, "ripped"),)
    if board.width < breadth <= board.length:
        yield (Band(breadth, "crosscut"),)


def _pairs(rest: Nm, board: Board, partners: Iterable[Nm]) -> Iterator[tuple[Band, ...]]:
    for part in sorted({rest - rest // 2, board.least, *partners}):
        other = rest - part
        if min(part, other) >= max(1, board.least) and max(part, other) <= board.width:
            yield (Band(part, "ripped"), Band(other, "ripped"))


def _triples(rest: Nm, board: Board, partners: Sequence[Nm]) -> Iterator[tuple[Band, ...]]:
    for one, other in combinations_with_replacement(sorted(partners), 2):
        last = rest - one - other
        if max(1, board.least) <= last <= board.width:
            yield (Band(one, "ripped"), Band(other, "ripped"), Band(last, "ripped"))


def _bandings(breadth: Nm, board: Board, partners: Sequence[Nm], parts: int) -> Iterator[tuple[Band, ...]]:
    """Return the ways to make up a breadth of bands: whole-board courses, then what they leave."""
    whole, across = Band(board.width, "ripped"), Band(board.length, "crosscut")
    most_across = breadth // board.length if board.length > board.width else 0
    for turned in range(most_across + 1):
        most = (breadth - turned * board.length) // board.width
        for straight in range(max(0, most - 1), most + 1):
            full = (whole,) * straight + (across,) * turned
            rest = breadth - turned * board.length - straight * board.width
            tails: list[tuple[Band, ...]] = [()] if not rest else []
            if rest and (rest >= board.least or not full):
                tails += _single(rest, board)
            tails += _pairs(rest, board, partners)
            tails += _triples(rest, board, partners) if parts > PAIR else ()
            yield from (full + tail for tail in tails)


def partners(sizes: Sequence[tuple[Nm, Nm, int]], board: Board, parts: int) -> tuple[Nm, ...]:
    """Return breadths that use up what is left of a board once the cavities' odd courses are ripped from it.

    Args:
        sizes: width, height and number of each cavity.
        board: the board.
        parts: 1 for none; with 3, also what those breadths themselves leave.
    """
    if parts < PAIR:
        return ()
    weight: Counter[Nm] = Counter()
    for width, height, number in sizes:
        for breadth, run in ((width, height), (height, width)):
            for left in _complements(breadth % board.width, board):
                weight[left] += run * number
    if parts > PAIR:
        for breadth, heft in list(weight.items()):
            for left in _complements(breadth, board):
                weight[left] += heft
    return tuple(b for b, _ in sorted(weight.items(), key=lambda w: (-w[1], w[0]))[:_MOST_PARTNERS])


def _complements(breadth: Nm, board: Board) -> list[Nm]:
    """Return what is left of a board's width once one, two, … strips of a breadth are ripped from it."""
    if breadth < max(1, board.least):
        return []
    most = board.width // breadth
    lefts = [board.width - copies * (breadth + board.kerf) for copies in range(1, most + 1)]
    return [left for left in lefts if max(1, board.least) <= left < board.width]


def schemes(width: Nm, height: Nm, board: Board, partners: Sequence[Nm] = (), parts: int = 1) -> list[Scheme]:
    """Return the ways to fill a cavity, without and with a split odd course.

    Args:
        width: width of the cavity.
        height: its height.
        board: the board.
        partners: breadths worth splitting an odd course for.
        parts: into how many parts it may be split; never fewer than two where a sliver asks for them.
    """
    found: dict[Scheme, None] = {}
    for upright, breadth in ((True, width), (False, height)):
        for bands in _bandings(breadth, board, partners, parts):
            found[Scheme(upright, bands)] = None
    return list(found)


def run_of(scheme: Scheme, width: Nm, height: Nm) -> Nm:
    """Return how long the scheme's courses are in a cavity of that size."""
    return height if scheme.upright else width
