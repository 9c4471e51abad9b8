"""Cavities and boards divided in every possible way on a coarse grid: a check for tiny cases."""

from collections.abc import Iterator, Sequence
from functools import cache
from itertools import product

Piece = tuple[int, int]
"""Shorter side, longer side, in steps of the grid."""
Pieces = tuple[Piece, ...]
"""In ascending order."""


def _sized(width: int, height: int) -> Piece:
    return min(width, height), max(width, height)


@cache
def dissections(width: int, height: int, board: Piece) -> frozenset[Pieces]:
    """Return every set of pieces, none larger than the board, that fills a cavity, cut through or not."""
    return frozenset(tuple(sorted(found)) for found in _filled([0] * width, height, board))


def _filled(levels: list[int], height: int, board: Piece) -> Iterator[list[Piece]]:
    """Fill above a skyline, the lowest place first; every dissection comes once."""
    low = min(levels)
    if low == height:
        yield []
        return
    at = levels.index(low)
    room = 1
    while at + room < len(levels) and levels[at + room] == low:
        room += 1
    for wide, high in product(range(1, room + 1), range(1, height - low + 1)):
        size = _sized(wide, high)
        if size[0] <= board[0] and size[1] <= board[1]:
            above = [*levels[:at], *[low + high] * wide, *levels[at + wide :]]
            for rest in _filled(above, height, board):
                yield [size, *rest]


@cache
def cuttings(width: int, height: int) -> frozenset[Pieces]:
    """Return every set of pieces that cuts from edge to edge make of a board, all of it named."""
    found: set[Pieces] = {(_sized(width, height),)}
    for at in range(1, width):
        for one, other in product(cuttings(at, height), cuttings(width - at, height)):
            found.add(tuple(sorted(one + other)))
    for at in range(1, height):
        for one, other in product(cuttings(width, at), cuttings(width, height - at)):
            found.add(tuple(sorted(one + other)))
    return frozenset(found)


def _without(pieces: Pieces, taken: Sequence[Piece]) -> Pieces:
    rest = list(pieces)
    for piece in taken:
        if piece in rest:
            rest.remove(piece)
    return tuple(rest)


@cache
def fewest_boards(pieces: Pieces, board: Piece) -> int:
    """Return the fewest boards that the pieces can be cut from."""
    if not pieces:
        return 0
    ways = {_without(pieces, cut) for cut in cuttings(*board) if pieces[-1] in cut}
    return 1 + min(fewest_boards(rest, board) for rest in ways)
