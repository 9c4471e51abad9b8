"""The least length of a roll that pieces of cloth can be cut from.

Seen along the roll, every line across it meets pieces whose widths add up to no more than the roll's: a bar.
Cutting the roll's width as one-dimensional stock, with the pieces' lengths as demand, therefore never takes
more than a real plan. The linear programme of that problem, with a turn left to its choice, is the bar bound;
it is at least the area over the width, and the sum of the lengths of pieces wider than half the roll.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import highspy
import numpy as np

from estimator.core.units import Nm
from estimator.cutting.bars import dearest, on_grid
from estimator.cutting.guillotine import Option
from estimator.cutting.programme import quiet_highs

_MOST_WIDTHS = 400
_ROUNDS = 200
_GRAIN = 1_000_000
_MOST_BITS = 2_000_000
_MOST_BIT_WORK = 4_000_000_000


@dataclass(frozen=True, slots=True)
class _Bars:
    """Distinct widths across the roll, on a grid, and how often each can occur in a bar."""

    widths: tuple[Nm, ...]
    cells: tuple[int, ...]
    most: tuple[int, ...]
    capacity: int


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


def _bars(ways: Sequence[Sequence[Option]], counts: Sequence[int], width: Nm) -> _Bars:
    often: dict[Nm, int] = {}
    for way, number in zip(ways, counts, strict=True):
        for option in way:
            often[option.width] = often.get(option.width, 0) + number
    widths = tuple(sorted(often, reverse=True))
    cells, capacity = on_grid(widths, width, up=False)
    return _Bars(widths, cells, tuple(min(often[w], width // w) for w in widths), capacity)


def _programme(
    ways: Sequence[Sequence[Option]], counts: Sequence[int], bars: _Bars, scale: float
) -> highspy.Highs:
    """Return the linear programme: a row a width, a column a kind that may turn or a bar."""
    model = quiet_highs()
    row = {w: r for r, w in enumerate(bars.widths)}
    needs = [0.0] * len(bars.widths)
    turns: list[tuple[int, float, int, float]] = []
    for way, number in zip(ways, counts, strict=True):
        first = way[0]
        needs[row[first.width]] += number * first.height / scale
        if len(way) == 2:  # noqa: PLR2004 - straight and turned
            second = way[1]
            turns.append(
                (
                    row[first.width],
                    number * first.height / scale,
                    row[second.width],
                    -number * second.height / scale,
                )
            )
    for need in needs:
        model.addRow(need, highspy.kHighsInf, 0, np.array([], dtype=np.int32), np.array([], dtype=np.float64))
    for one, plus, other, minus in turns:
        model.addCol(0.0, 0.0, 1.0, 2, np.array([one, other], dtype=np.int32), np.array([plus, minus]))
    for item, most in enumerate(bars.most):
        _add_bar(model, [most if i == item else 0 for i in range(len(bars.most))])
    return model


def _add_bar(model: highspy.Highs, count: Sequence[int]) -> None:
    rows = np.array([r for r, n in enumerate(count) if n], dtype=np.int32)
    values = np.array([float(n) for n in count if n])
    model.addCol(1.0, 0.0, highspy.kHighsInf, len(rows), rows, values)


def _by_worth(ways: Sequence[Sequence[Option]], counts: Sequence[int], worth: dict[Nm, int], bar: int) -> Nm:
    """Return the bound that whole-number worths of the widths prove, whatever the solver's rounding."""
    total = sum(
        number * min(worth[option.width] * option.height for option in way)
        for way, number in zip(ways, counts, strict=True)
    )
    return -(-total // bar) if bar else 0


def _bar_bound(ways: Sequence[Sequence[Option]], counts: Sequence[int], width: Nm) -> Nm:
    bars = _bars(ways, counts, width)
    scale = float(max(option.height for way in ways for option in way))
    model = _programme(ways, counts, bars, scale)
    best = 0
    for _ in range(_ROUNDS):
        model.run()
        if model.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            break
        duals = model.getSolution().row_dual
        worth = [max(0, int(dual * _GRAIN)) for dual in duals]
        most_worth, count = dearest(bars.cells, bars.most, bars.capacity, worth)
        best = max(best, _by_worth(ways, counts, dict(zip(bars.widths, worth, strict=True)), most_worth))
        if most_worth <= _GRAIN * (1 + 1e-6):
            break
        _add_bar(model, count)
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
            sums |= _shifted(sums, [option.height for option in way]) & mask
    above = sums >> bound
    return bound + (above & -above).bit_length() - 1 if above else bound


def _shifted(sums: int, lengths: Sequence[Nm]) -> int:
    """Return the sums, kept as bits, with one more piece of any of the lengths."""
    found = 0
    for length in lengths:
        found |= sums << length
    return found
