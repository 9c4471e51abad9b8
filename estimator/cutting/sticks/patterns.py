"""Every pattern that a cheaper plan could use: those whose reduced cost is within the gap, listed in full."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from estimator.cutting.sticks.case import Case, Pattern
from estimator.cutting.sticks.duals import Duals
from estimator.cutting.sticks.knapsack import Whole, copies, fitting

_MOST_CELLS = 20_000_000
_MOST_OPEN = 200_000


def _suffix_values(case: Case, worth: Whole, capacity: int) -> Whole:
    """Return, shape (items + 1, cells + 1), the most that items from each index on can be worth."""
    table, thin = np.zeros((len(case.weights) + 1, capacity + 1), np.int64), case.thin
    for item in range(len(case.weights) - 1, -1, -1):
        best = table[item]
        best[:] = table[item + 1]
        for multiple in copies(fitting(thin[item], case.demand[item], capacity)):
            weight = thin[item] * multiple
            if weight <= capacity and worth[item] > 0:
                with_it = best[: capacity + 1 - weight] + worth[item] * multiple
                np.maximum(best[weight:], with_it, out=best[weight:])
    return table


@dataclass(frozen=True, slots=True)
class _Open:
    """Unfinished patterns, one a place: room left, worth so far, lightest item with some left, last node."""

    room: Whole
    worth: Whole
    spare: Whole
    node: Whole

    def only(self, keep: NDArray[np.bool_]) -> "_Open":
        return _Open(self.room[keep], self.worth[keep], self.spare[keep], self.node[keep])


def _joined(parts: Sequence[_Open]) -> _Open:
    return _Open(
        np.concatenate([p.room for p in parts]),
        np.concatenate([p.worth for p in parts]),
        np.concatenate([p.spare for p in parts]),
        np.concatenate([p.node for p in parts]),
    )


class _Listing:
    """Builds the patterns of one stock item by item; a node adds some of an item to its parent's pattern."""

    def __init__(self, case: Case, worth: Whole, table: Whole, stock: int, need: int) -> None:
        self.case, self.worth, self.table, self.stock, self.need = case, worth, table, stock, need
        self.parent: list[Whole] = []
        self.step: list[tuple[int, int]] = []
        self.starts: list[int] = [0]

    def _nodes(self, parents: Whole, item: int, count: int) -> Whole:
        start = self.starts[-1]
        self.parent.append(parents)
        self.step.append((item, count))
        self.starts.append(start + len(parents))
        return np.arange(start, start + len(parents), dtype=np.int64)

    def _with(self, state: _Open, item: int, count: int) -> _Open:
        """Return the unfinished patterns with `count` of `item` that can still be worth enough."""
        room = state.room - self.case.weights[item] * count
        worth = state.worth + self.worth[item] * count
        keep = (room >= 0) & (
            worth + self.table[item + 1, np.maximum(room, 0) // self.case.cell] >= self.need
        )
        kept = _Open(room, worth, state.spare, state.node).only(keep)
        spare = kept.spare
        if count < self.case.demand[item]:
            spare = np.full(len(kept.room), self.case.weights[item])
        node = self._nodes(kept.node, item, count) if count else kept.node
        return _Open(kept.room, kept.worth, spare, node)

    def run(self, *, full: bool, most: int) -> list[Pattern] | None:
        """Return every pattern, if `full` only those no piece more fits on; None where over `most`."""
        capacity = self.case.capacities[self.stock]
        start = (capacity, 0, np.iinfo(np.int64).max, -1)
        state = _Open(*(np.array([value], np.int64) for value in start))
        for item, weight in enumerate(self.case.weights):
            often = min(self.case.demand[item], capacity // weight)
            state = _joined([self._with(state, item, count) for count in range(often + 1)])
            if len(state.room) > most:
                return None
        return self._read(state.node[state.room < state.spare] if full else state.node)

    def _read(self, ends: Whole) -> list[Pattern]:
        if not len(ends) or not self.parent:
            return []
        parent = np.concatenate(self.parent)
        block = np.searchsorted(np.array(self.starts), np.arange(len(parent)), side="right") - 1
        found = []
        for end in ends.tolist():
            counts, node = [], end
            while node >= 0:
                counts.append(self.step[block[node]])
                node = int(parent[node])
            found.append(Pattern(self.stock, tuple(reversed(counts))))
        return found


def _needs(case: Case, duals: Duals, below: int) -> list[int]:
    """Return for each stock what a pattern must be worth to be of any use.

    A plan's cost is the duals' bound plus the reduced costs of its patterns, so none of them may exceed
    what lies between that bound and the highest cost still of interest.
    """
    gap = (below - 1) * duals.scale - duals.total
    return [c * duals.scale - min(0, s) - gap for c, s in zip(case.costs, duals.slack, strict=True)]


def patterns_worth(
    case: Case, worth: Whole, needs: Sequence[int], *, full: bool, most: int
) -> list[Pattern] | None:
    """Return every pattern worth at least what its stock needs; None where they are too many.

    Args:
        case: the job; whether pieces fit is decided by its true weights.
        worth: of each item.
        needs: of each stock.
        full: leave out patterns with room for another piece.
        most: of one stock, more are too many.
    """
    found: list[Pattern] = []
    table = _suffix_values(case, worth, max(case.slots))
    for stock, need in enumerate(needs):
        listed = _Listing(case, worth, table, stock, need).run(full=full, most=most)
        if listed is None:
            return None
        found += (pattern for pattern in listed if pattern.counts)
    return found


def patterns_within(
    case: Case, several: Sequence[Duals], below: int, *, full: bool = True, most: int = _MOST_OPEN
) -> list[Pattern] | None:
    """Return every pattern that a plan cheaper than `below` can use; None where they are too many.

    Args:
        case: the job.
        several: duals; a pattern must pass all of them.
        below: cost that the plan must stay under.
        full: leave out patterns with room for another piece: for a cheap plan the fuller one does as well.
        most: of one stock, more are too many.
    """
    if len(case.weights) * max(case.slots) > _MOST_CELLS:
        return None
    lists = [
        found
        for duals in several
        if (found := patterns_worth(case, duals.worth, _needs(case, duals, below), full=full, most=most))
        is not None
    ]
    if not lists:
        return None
    fewest = min(lists, key=len)
    for duals in several:
        needs, worth = _needs(case, duals, below), duals.worth.tolist()
        fewest = [p for p in fewest if sum(worth[i] * n for i, n in p.counts) >= needs[p.stock]]
    return fewest
