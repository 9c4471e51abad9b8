"""One-dimensional sets of widths side by side: the best bar that fits a given width."""

from collections.abc import Sequence
from math import gcd

import numpy as np

from estimator.core.units import Nm

_MOST_CELLS = 6000


def on_grid(widths: Sequence[Nm], whole: Nm, *, up: bool) -> tuple[tuple[int, ...], int]:
    """Return the widths and the whole in cells of a grid: exact where some thousand cells allow it.

    Args:
        widths: widths, none over `whole`.
        whole: the width they share.
        up: round widths up, so that what fits the grid fits in truth (for a plan); else down, so that what
            fits in truth fits the grid (for a bound).
    """
    cell = gcd(whole, *widths)
    cell = cell if whole <= cell * _MOST_CELLS else -(-whole // _MOST_CELLS)
    capacity = whole // cell
    if up:
        return tuple(min(capacity, -(-width // cell)) for width in widths), capacity
    return tuple(width // cell for width in widths), capacity


def dearest(
    cells: Sequence[int], most: Sequence[int], capacity: int, worth: Sequence[int]
) -> tuple[int, list[int]]:
    """Return the worth of the dearest bar and how often each width is in it: a bounded knapsack.

    Args:
        cells: width of each item, on the grid.
        most: how often each may occur.
        capacity: width of the bar, on the grid.
        worth: worth of one of each; what is worth nothing is left out.
    """
    best = np.zeros(capacity + 1, dtype=np.int64)
    steps: list[tuple[int, int, np.ndarray[tuple[int], np.dtype[np.bool_]]]] = []
    for item, number in _lots(cells, most, capacity, worth):
        size = number * cells[item]
        with_it, without = best[: capacity + 1 - size] + number * worth[item], best[size:]
        steps.append((item, number, with_it > without))
        best[size:] = np.maximum(with_it, without)
    at, count = capacity, [0] * len(cells)
    for item, number, better in reversed(steps):
        size = number * cells[item]
        if at >= size and better[at - size]:
            count[item] += number
            at -= size
    return int(best[-1]), count


def _lots(
    cells: Sequence[int], most: Sequence[int], capacity: int, worth: Sequence[int]
) -> list[tuple[int, int]]:
    """Return each item in lots of 1, 2, 4, … that add up to its limit (binary splitting)."""
    lots = []
    for item, (cell, limit) in enumerate(zip(cells, most, strict=True)):
        lot, rest = 1, min(limit, capacity // cell) if cell else limit
        while rest and worth[item] > 0:
            lots.append((item, min(lot, rest)))
            rest -= min(lot, rest)
            lot *= 2
    return lots
