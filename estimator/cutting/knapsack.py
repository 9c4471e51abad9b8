"""What is worth most on one stick, or across one roll: a bounded knapsack table, exact in whole numbers."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

Whole: TypeAlias = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Table:
    """The most that every room up to the largest can be worth, and how.

    Attributes:
        best: shape (room + 1,): the largest worth that fits each room.
        steps: (item, how many at once) in the order the table was filled.
        taken: shape (steps, room + 1): whether the step is taken at that room.
        weights: weight of each item.
    """

    best: Whole
    steps: list[tuple[int, int]]
    taken: NDArray[np.bool_]
    weights: Sequence[int]

    def counts(self, room: int) -> Whole:
        """Return how many of each item are worth most in `room`."""
        found = np.zeros(len(self.weights), np.int64)
        for at in range(len(self.steps) - 1, -1, -1):
            if self.taken[at, room]:
                item, number = self.steps[at]
                found[item] += number
                room -= self.weights[item] * number
        return found


def lots(number: int) -> list[int]:
    """Return lots that add up to `number` and make every count up to it: 1, 2, 4, ..., the rest."""
    found, lot = [], 1
    while number > 0:
        found.append(min(lot, number))
        number -= found[-1]
        lot *= 2
    return found


def fill(weights: Sequence[int], most: Sequence[int], worth: Sequence[int] | Whole, room: int) -> Table:
    """Return the table of one room and all below it.

    Args:
        weights: weight of each item, 0 or more.
        most: how many of each there are.
        worth: worth of one of each; what is worth nothing is left out. Of equals the earlier item is taken.
        room: the largest room.
    """
    steps = list(_steps(weights, most, worth, room))
    best = np.zeros(room + 1, np.int64)
    taken = np.zeros((len(steps), room + 1), np.bool_)
    for at, (item, lot) in enumerate(steps):
        _taken_up(best, weights[item] * lot, int(worth[item]) * lot, taken[at])
    return Table(best, steps, taken, weights)


def tails(
    weights: Sequence[int], most: Sequence[int], worth: Sequence[int] | Whole, room: int
) -> list[Whole]:
    """Return, for each item and one beyond the last, the most that it and those after are worth by room."""
    found = [np.zeros(room + 1, np.int64)]
    steps: dict[int, list[int]] = {}
    for item, lot in _steps(weights, most, worth, room):
        steps.setdefault(item, []).append(lot)
    for item in range(len(weights) - 1, -1, -1):
        best = found[-1].copy()
        for lot in steps.get(item, []):
            _taken_up(best, weights[item] * lot, int(worth[item]) * lot)
        found.append(best)
    return found[::-1]


def dearest(weights: Sequence[int], most: Sequence[int], worth: Sequence[int] | Whole, room: int) -> Whole:
    """Return the most that each room up to `room` can be worth; see `fill`."""
    best = np.zeros(room + 1, np.int64)
    for item, lot in _steps(weights, most, worth, room):
        _taken_up(best, weights[item] * lot, int(worth[item]) * lot)
    return best


def _steps(
    weights: Sequence[int], most: Sequence[int], worth: Sequence[int] | Whole, room: int
) -> Iterator[tuple[int, int]]:
    """Yield the items that fit and are worth something, each in its lots."""
    for item, weight in enumerate(weights):
        if worth[item] > 0 and weight <= room:
            for lot in lots(min(most[item], room // weight if weight else most[item])):
                if weight * lot <= room:
                    yield item, lot


def _taken_up(best: Whole, weight: int, worth: int, taken: NDArray[np.bool_] | None = None) -> None:
    """Take up a lot in the table wherever that is worth more, and note where."""
    with_it, without = best[: len(best) - weight] + worth, best[weight:]
    if taken is not None:
        np.greater(with_it, without, out=taken[weight:])
    np.maximum(with_it, without, out=without)
