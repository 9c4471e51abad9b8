"""Ways to fill a cavity by courses: bands side by side, each as long as the cavity, joined end to end within.

A band is cut from strips. A strip is either ripped (as long as the board) or crosscut (as long as the board is
wide). A band as wide as the board is made of whole boards.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Literal, NamedTuple, TypeAlias

from estimator.core.units import Nm

Way: TypeAlias = Literal["ripped", "crosscut"]
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


def _rest(rest: Nm, board: Board, *, alone: bool, partners: Iterable[Nm]) -> Iterator[tuple[Band, ...]]:
    """Return the ways to fill what whole-board courses leave of a breadth."""
    if not rest:
        yield ()
    elif rest >= board.least or alone:
        yield from _single(rest, board)
    yield from _pairs(rest, board, partners)


def _bandings(breadth: Nm, board: Board, partners: Sequence[Nm]) -> Iterator[tuple[Band, ...]]:
    """Return the ways to make up a breadth of bands."""
    whole, across = Band(board.width, "ripped"), Band(board.length, "crosscut")
    most_across = breadth // board.length if board.length > board.width else 0
    for turned in range(most_across + 1):
        most = (breadth - turned * board.length) // board.width
        for straight in range(max(0, most - 1), most + 1):
            rest = breadth - turned * board.length - straight * board.width
            full = (whole,) * straight + (across,) * turned
            for tail in _rest(rest, board, alone=not full, partners=partners):
                yield full + tail


def partners(sizes: Sequence[tuple[Nm, Nm, int]], board: Board) -> tuple[Nm, ...]:
    """Return breadths that use up what is left of a board once the cavities' odd courses are ripped from it.

    Args:
        sizes: width, height and number of each cavity.
        board: the board.
    """
    weight: Counter[Nm] = Counter()
    for width, height, number in sizes:
        for breadth, run in ((width, height), (height, width)):
            rest = breadth % board.width
            if rest < board.least:
                continue
            for copies in range(1, board.width // rest + 1):
                left = board.width - copies * (rest + board.kerf)
                if board.least <= left < board.width:
                    weight[left] += run * number
    return tuple(
        breadth for breadth, _ in sorted(weight.items(), key=lambda w: (-w[1], w[0]))[:_MOST_PARTNERS]
    )


def schemes(width: Nm, height: Nm, board: Board, partners: Sequence[Nm] = ()) -> list[Scheme]:
    """Return the ways to fill a cavity, without and with a split odd course.

    Args:
        width: width of the cavity.
        height: its height.
        board: the board.
        partners: breadths worth splitting an odd course for.
    """
    found: dict[Scheme, None] = {}
    for upright, breadth in ((True, width), (False, height)):
        for bands in _bandings(breadth, board, partners):
            found[Scheme(upright, bands)] = None
    return list(found)


def run_of(scheme: Scheme, width: Nm, height: Nm) -> Nm:
    """Return how long the scheme's courses are in a cavity of that size."""
    return height if scheme.upright else width
