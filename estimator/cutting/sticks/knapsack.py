"""The fullest, most valuable way to cut a stick: a bounded knapsack table, exact in whole numbers."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Whole = NDArray[np.int64]


def copies(demand: int) -> list[int]:
    """Return multiples that add up to `demand` and make every count up to it (binary splitting)."""
    parts, step = [], 1
    while demand > 0:
        parts.append(min(step, demand))
        demand -= parts[-1]
        step *= 2
    return parts


def fitting(weight: int, demand: int, capacity: int) -> int:
    """Return how many of an item fit `capacity`, no more than `demand`."""
    return min(demand, capacity // weight) if weight else demand


@dataclass(frozen=True, slots=True)
class Table:
    """A filled knapsack table.

    Attributes:
        best: shape (capacity + 1,): the largest value that fits each capacity.
        steps: (item, multiple) in the order the table was filled.
        taken: shape (steps, capacity + 1): whether the step is used at that capacity.
        weights: weight of each item.
        marks: shape (steps, marked capacities): the best value after each step at the marked capacities.
        values: value of each item.
    """

    best: Whole
    steps: list[tuple[int, int]]
    taken: NDArray[np.bool_]
    weights: Sequence[int]
    marks: Whole
    values: Whole

    def counts(self, capacity: int, last: int | None = None) -> tuple[tuple[int, int], ...]:
        """Return the (item, count) of the best filling of `capacity` from the first `last` steps."""
        found: dict[int, int] = {}
        end = len(self.steps) if last is None else last
        while end:
            used = (
                self.taken[end - 1 :: -1, capacity] if end < len(self.steps) else self.taken[::-1, capacity]
            )
            back = int(used.argmax())
            if not used[back]:
                break
            end -= back + 1
            item, multiple = self.steps[end]
            found[item] = found.get(item, 0) + multiple
            capacity -= self.weights[item] * multiple
        return tuple(sorted(found.items()))

    def around(self, capacity: int) -> Iterator[tuple[int, int]]:
        """Yield items, and the room each leaves of `capacity`, by what a filling with it is worth."""
        room = capacity - np.array(self.weights)
        worth = np.where((room >= 0) & (self.values > 0), self.values + self.best[np.maximum(room, 0)], 0)
        for item in np.argsort(-worth, kind="stable").tolist():
            if not worth[item]:
                return
            yield item, int(room[item])


def fill(
    weights: Sequence[int],
    demand: Sequence[int],
    values: Whole,
    capacities: Sequence[int],
    order: Sequence[int] | None = None,
) -> Table:
    """Return the table of the most valuable fillings for every capacity up to the largest one.

    Args:
        weights: weight of each item, 0 or more.
        demand: how many of each item may be used.
        values: value of each item; those of 0 or less are left out.
        capacities: the capacities wanted.
        order: the order in which items are taken up; ties go to the first.
    """
    capacity = max(capacities)
    steps = [
        (item, multiple)
        for item in (order if order is not None else range(len(weights)))
        if values[item] > 0 and weights[item] <= capacity
        for multiple in copies(fitting(weights[item], demand[item], capacity))
    ]
    best = np.zeros(capacity + 1, np.int64)
    taken = np.zeros((len(steps), capacity + 1), np.bool_)
    marks = np.zeros((len(steps), len(capacities)), np.int64)
    wanted = np.array(capacities)
    for at, (item, multiple) in enumerate(steps):
        weight = weights[item] * multiple
        if weight <= capacity:
            with_it = best[: capacity + 1 - weight] + values[item] * multiple
            rest = best[weight:]
            np.greater(with_it, rest, out=taken[at, weight:])
            np.maximum(with_it, rest, out=rest)
        marks[at] = best[wanted]
    return Table(best, steps, taken, weights, marks, values)
