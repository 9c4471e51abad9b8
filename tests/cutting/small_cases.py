"""The exact answer to tiny cutting cases, by trying every cut: slow, sharing nothing with the planners."""

from collections.abc import Sequence
from functools import cache
from itertools import combinations

Size = tuple[int, int, bool]


@cache
def cut_from(width: int, height: int, sizes: tuple[Size, ...]) -> bool:
    """Return whether straight cuts, without kerf, give every size from one rectangle."""
    if len(sizes) == 1:
        wide, high, turn = sizes[0]
        return (wide <= width and high <= height) or (turn and high <= width and wide <= height)
    if sum(w * h for w, h, _ in sizes) > width * height:
        return False
    rest = sizes[1:]
    for number in range(len(rest)):
        for beside in combinations(range(len(rest)), number):
            one = (sizes[0], *(rest[i] for i in beside))
            other = tuple(size for i, size in enumerate(rest) if i not in beside)
            for at in range(1, width):
                if cut_from(at, height, one) and cut_from(width - at, height, other):
                    return True
            for at in range(1, height):
                if cut_from(width, at, one) and cut_from(width, height - at, other):
                    return True
    return False


def fewest_sheets(width: int, height: int, sizes: Sequence[Size]) -> int:
    """Return the least number of sheets that give every size."""
    if not sizes:
        return 0
    first, rest = sizes[0], list(sizes[1:])
    best = len(sizes)
    for number in range(len(rest), -1, -1):
        for beside in combinations(range(len(rest)), number):
            together = (first, *(rest[i] for i in beside))
            if cut_from(width, height, together):
                others = [size for i, size in enumerate(rest) if i not in beside]
                best = min(best, 1 + fewest_sheets(width, height, others))
    return best


def shortest_roll(width: int, sizes: Sequence[Size]) -> int:
    """Return the least length of a roll that gives every size by straight cuts."""
    length = 1
    while not cut_from(width, length, tuple(sizes)):
        length += 1
    return length
