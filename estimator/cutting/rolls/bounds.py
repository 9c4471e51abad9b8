"""The least length of a roll that pieces of cloth can be cut from.

Seen along the roll, every line across it meets pieces whose widths add up to no more than the roll's: a bar.
Cutting the roll's width as one-dimensional stock, with the pieces' lengths as demand, therefore never takes
more than a real plan. The linear programme of that problem, with a turn left to its choice, is the bar bound;
it is at least the area over the width, and the sum of the lengths of pieces wider than half the roll.
"""

from collections import Counter
from collections.abc import Sequence
from math import gcd

import numpy as np

from estimator.core.units import Nm
from estimator.cutting.guillotine import Option
from estimator.cutting.knapsack import fill
from estimator.cutting.programme import INFINITY, Programme, SolverError

_MOST_WIDTHS = 400
"""Different widths up to which the bar bound is worked out: a row of the programme each."""
_MOST_CELLS = 6000
"""Cells that the roll's width is divided into: a third of a millimetre or less."""
_ROUNDS = 200
"""Bars added; what is proven after so many still holds."""
_GRAIN = 1_000_000
"""Whole numbers that the worth of a bar is told in."""
_MOST_BITS, _MOST_BIT_WORK = 2_000_000, 4_000_000_000
"""Lengths up to which sums of lengths are told apart, and the work in that: a second or so."""


def _area_bound(ways: Sequence[Sequence[Option]], counts: Sequence[int], width: Nm) -> Nm:
    area = sum(n * min(o.width * o.height for o in way) for way, n in zip(ways, counts, strict=True))
    return -(-area // width)


def _wide_bound(ways: Sequence[Sequence[Option]], counts: Sequence[int], width: Nm) -> Nm:
    """Return the sum of the lengths of pieces that no other of them can lie beside."""
    total = 0
    for way, number in zip(ways, counts, strict=True):
        if all(2 * option.width > width for option in way):
            total += number * min(option.height for option in way)
    return total


def _programme(ways: Sequence[Sequence[Option]], counts: Sequence[int], row: dict[Nm, int]) -> Programme:
    """Return the linear programme: a row a width; a column a kind that may turn, and the bars to come."""
    needs, turns, highest = np.zeros(len(row)), [], max(option.height for way in ways for option in way)
    for (first, *turned), number in zip(ways, counts, strict=True):
        needs[row[first.width]] += number * first.height / highest
        for second in turned:
            turns.append(np.zeros(len(row)))
            turns[-1][row[first.width]] += number * first.height / highest
            turns[-1][row[second.width]] -= number * second.height / highest
    model = Programme(needs.tolist(), [INFINITY] * len(row))
    if turns:
        model.add(np.zeros(len(turns)), np.array(turns))
        model.bound_columns(np.ones(len(turns)))
    return model


def _by_worth(
    ways: Sequence[Sequence[Option]], counts: Sequence[int], worth: Sequence[int], row: dict[Nm, int]
) -> int:
    """Return what all pieces are worth, each turned as it is worth least, whatever the solver's rounding."""
    return sum(
        number * min(worth[row[option.width]] * option.height for option in way)
        for way, number in zip(ways, counts, strict=True)
    )


def _bar_bound(ways: Sequence[Sequence[Option]], counts: Sequence[int], width: Nm) -> Nm:
    often: Counter[Nm] = Counter()
    for way, number in zip(ways, counts, strict=True):
        often.update({option.width: number for option in way})
    widths = sorted(often, reverse=True)
    row = {w: at for at, w in enumerate(widths)}
    # Cells rounded down: what fits in truth fits the cells, so a bar is worth no more than is said.
    cell = max(gcd(width, *widths), -(-width // _MOST_CELLS))
    cells, most = [w // cell for w in widths], [min(often[w], width // w) for w in widths]
    model, best = _programme(ways, counts, row), 0
    model.add(np.ones(len(widths)), np.diag(most))
    for _ in range(_ROUNDS):
        try:
            duals = model.solve().duals
        except SolverError:
            break
        worth = np.floor(np.clip(duals, 0, None) * _GRAIN).astype(np.int64)
        table = fill(cells, most, worth, width // cell)
        bar = int(table.best[-1])
        best = max(best, -(-_by_worth(ways, counts, worth.tolist(), row) // bar) if bar else 0)
        if bar <= _GRAIN * (1 + 1e-6):
            break
        model.add([1.0], table.counts(width // cell)[None, :])
    return best


def roll_bound(ways: Sequence[Sequence[Option]], counts: Sequence[int], width: Nm) -> Nm:
    """Return a length that no plan goes below.

    Args:
        ways: for each kind of piece the one or two positions in which it fits across the roll.
        counts: how many of each kind.
        width: width of the roll.
    """
    if not ways:
        return 0
    bound = max(_area_bound(ways, counts, width), _wide_bound(ways, counts, width))
    if len({option.width for way in ways for option in way}) <= _MOST_WIDTHS:
        bound = max(bound, _bar_bound(ways, counts, width))
    return _next_stack(ways, counts, bound)


def _next_stack(ways: Sequence[Sequence[Option]], counts: Sequence[int], bound: Nm) -> Nm:
    """Return the bound raised to the next sum of the lengths of some pieces.

    Let every piece slide towards the beginning of the roll until it meets another: the one that reaches
    farthest then ends a chain of pieces, each beginning where the one before it ends.
    """
    end = bound + max(option.height for way in ways for option in way)
    if end > _MOST_BITS or sum(counts) * end > _MOST_BIT_WORK:
        return bound
    sums, mask = 1, (1 << (end + 1)) - 1
    for way, number in zip(ways, counts, strict=True):
        for _ in range(number):
            more = 0
            for option in way:
                more |= sums << option.height
            sums |= more & mask
    above = sums >> bound
    return bound + (above & -above).bit_length() - 1 if above else bound
