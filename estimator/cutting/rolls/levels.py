"""Rolls laid in levels: each level is columns side by side, each column pieces one above the other.

Which levels are worth cutting comes from a linear programme over levels, new ones made as they pay (column
generation: a stack is a knapsack of heights, a level a knapsack of stacks). Levels are then fixed one after
another, and what is left goes to the search of many starts.
"""

from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

import highspy
import numpy as np
from numpy.typing import NDArray

from estimator.core.units import Nm
from estimator.cutting.bars import on_grid
from estimator.cutting.guillotine import Laid, Option
from estimator.cutting.programme import quiet_highs
from estimator.cutting.rolls.search import Wanted, search, used_length

_ROUNDS = 250
_HEIGHTS = 40
"""Heights of level tried in a round."""
_PAYS = 1.0005
_FIX = 0.6
"""A level used at least this often by the programme, or this near a whole number, is cut."""
_REST_TRIES = 60
_MORE_ROUNDS = 20
_WORK = 60_000
_LONG_WORK = 600_000
"""Steps of knapsacks after which no new levels are made, for a wall's pieces and for longer lists."""
_WALL = 60
_FEW = 14
"""Pieces left that are given to the search as well."""

Whole = NDArray[np.int64]
_SCALE = 1_000_000


class _Level(NamedTuple):
    """A level: its height, and its pieces where they lie from its lower left corner."""

    height: Nm
    laid: tuple[Laid, ...]

    def counts(self, kinds: int) -> list[int]:
        """Return how many of each kind are in it."""
        found = [0] * kinds
        for piece in self.laid:
            found[piece.kind] += 1
        return found


class _Stacks:
    """The dearest stacks of every height that are no wider than a given option, from one table."""

    def __init__(
        self, options: Sequence[Option], cells: Sequence[int], worth: Sequence[int], top: int
    ) -> None:
        self.options, self.cells = options, cells
        self.steps: list[tuple[int, NDArray[np.bool_]]] = []
        self.upto: dict[Nm, int] = {}
        self.table: dict[Nm, Whole] = {}
        best: Whole = np.zeros(top + 1, dtype=np.int64)
        for item, option in enumerate(options):
            cell = cells[item]
            if worth[option.kind] > 0 and cell <= top:
                with_it = best.copy()
                with_it[cell:] = best[: top + 1 - cell] + worth[option.kind]
                better = with_it > best
                best = np.where(better, with_it, best)
                self.steps.append((item, better))
            self.table[option.width] = best
            self.upto[option.width] = len(self.steps)

    def stack(self, width: Nm, room: int) -> list[Option]:
        """Return the dearest stack no wider than `width` and no higher than `room`."""
        found = []
        for item, better in reversed(self.steps[: self.upto[width]]):
            if better[room]:
                found.append(self.options[item])
                room -= self.cells[item]
        return found


class _Programme:
    """The linear programme over levels: a row a kind, a column a level."""

    def __init__(self, wanted: Wanted) -> None:
        self.wanted = wanted
        self.options = sorted(wanted.options, key=lambda o: (o.width, o.height, o.kind))
        highest = max(o.height for o in self.options)
        self.high, self.top = on_grid([o.height for o in self.options], highest, up=True)
        self.wide, self.across = on_grid([o.width for o in self.options], wanted.width, up=True)
        self.highs = quiet_highs()
        self.levels: list[_Level] = []
        for number in wanted.counts:
            empty = np.array([], dtype=np.int32), np.array([], dtype=np.float64)
            self.highs.addRow(float(number), highspy.kHighsInf, 0, *empty)
        for option in self.options:
            self._add_single(option)
        self.turn = 0
        self.spent = 0
        self.work = _WORK if sum(wanted.counts) <= _WALL else _LONG_WORK

    def _add_single(self, option: Option) -> None:
        number = min(self.wanted.counts[option.kind], self.wanted.width // option.width)
        row = [Laid(option.kind, n * option.width, 0, option.width, option.height) for n in range(number)]
        self.add(_Level(option.height, tuple(row)))

    def add(self, level: _Level) -> None:
        """Add a level as a column."""
        counts = level.counts(len(self.wanted.counts))
        rows = np.array([kind for kind, number in enumerate(counts) if number], dtype=np.int32)
        values = np.array([float(number) for number in counts if number])
        self.highs.addCol(float(level.height), 0.0, highspy.kHighsInf, len(rows), rows, values)
        self.levels.append(level)

    def _heights(self) -> list[tuple[Nm, int]]:
        """Return the heights to try next, with their cells; every height has its turn."""
        known = sorted(
            {(o.height, cell) for o, cell in zip(self.options, self.high, strict=True)}, reverse=True
        )
        chosen = [known[(self.turn + n) % len(known)] for n in range(min(_HEIGHTS, len(known)))]
        self.turn += _HEIGHTS
        return chosen

    def grow(self) -> bool:
        """Add the levels that pay at the present duals; return whether there were any in a whole round."""
        worth = [max(0, int(dual * _SCALE)) for dual in self.highs.getSolution().row_dual]
        stacks = _Stacks(self.options, self.high, worth, self.top)
        heights, paid = len({o.height for o in self.options}), False
        for _ in range(-(-heights // _HEIGHTS)):
            for height, room in self._heights():
                value, level = self._level(height, room, worth, stacks)
                if value > height * _SCALE * _PAYS:
                    self.add(level)
                    paid = True
            if paid:
                return True
        return False

    def _level(self, height: Nm, room: int, worth: Sequence[int], stacks: _Stacks) -> tuple[int, _Level]:
        """Return the dearest level of a height found: columns by a knapsack of their leading pieces."""
        best: Whole = np.zeros(self.across + 1, dtype=np.int64)
        steps: list[tuple[int, NDArray[np.bool_]]] = []
        for item, option in enumerate(self.options):
            if option.height > height or not worth[option.kind] or not self.wanted.counts[option.kind]:
                continue
            value = worth[option.kind] + int(stacks.table[option.width][room - self.high[item]])
            for _ in range(min(self.wanted.counts[option.kind], self.across // self.wide[item])):
                self.spent += 1
                with_it = best.copy()
                with_it[self.wide[item] :] = best[: self.across + 1 - self.wide[item]] + value
                better = with_it > best
                if not better.any():
                    break
                best = np.where(better, with_it, best)
                steps.append((item, better))
        at, leads = self.across, []
        for item, better in reversed(steps):
            if better[at]:
                leads.append(item)
                at -= self.wide[item]
        laid = self._columns(leads, room, stacks)
        return sum(worth[piece.kind] for piece in laid), _Level(height, tuple(laid))

    def _columns(self, leads: Sequence[int], room: int, stacks: _Stacks) -> list[Laid]:
        """Return the pieces of the columns where they lie, none laid more often than it is wanted."""
        left, laid, x = list(self.wanted.counts), list[Laid](), 0
        for item in leads:
            left[self.options[item].kind] -= 1
        for item in leads:
            lead = self.options[item]
            if left[lead.kind] < 0:
                left[lead.kind] += 1
                continue
            y = 0
            above = stacks.stack(lead.width, room - self.high[item])
            for option in (lead, *sorted(above, key=lambda o: (-o.width, o))):
                if option is not lead and not left[option.kind]:
                    continue
                left[option.kind] -= option is not lead
                laid.append(Laid(option.kind, x, y, option.width, option.height))
                y += option.height
            x += lead.width
        return laid

    def solve(self, rounds: int) -> list[float]:
        """Return how often each level is used, once no level pays any more or the rounds are spent."""
        for _ in range(rounds):
            self.highs.run()
            if self.spent > self.work or not self.grow():
                break
        self.highs.run()
        return list(self.highs.getSolution().col_value)

    def lower(self, left: Sequence[int]) -> None:
        """Set what is still wanted, and close the levels that would lay more."""
        self.wanted = replace(self.wanted, counts=tuple(left))
        for kind, number in enumerate(left):
            self.highs.changeRowBounds(kind, float(number), highspy.kHighsInf)
        for column, level in enumerate(self.levels):
            if _times(level, left) == 0:
                self.highs.changeColBounds(column, 0.0, 0.0)
        for option in self.options:
            if left[option.kind]:
                self._add_single(option)


def _times(level: _Level, left: Sequence[int]) -> int:
    """Return how often a level can be cut without laying more than is wanted."""
    return min(
        (have // need for have, need in zip(left, level.counts(len(left)), strict=True) if need), default=0
    )


def lay_levels(wanted: Wanted) -> list[Laid]:
    """Return every piece laid: the levels worth cutting, then the last few by the search of many starts."""
    programme = _Programme(wanted)
    uses = programme.solve(_ROUNDS)
    left = list(wanted.counts)
    chosen: list[tuple[_Level, int]] = []
    best: list[Laid] = []
    while any(left):
        if sum(left) <= _FEW:
            whole = _stacked(chosen, _rest(wanted, left))
            best = whole if not best or used_length(whole) < used_length(best) else best
        cut = _worth_cutting(programme.levels, uses, left)
        chosen += cut
        for level, times in cut:
            left = _without(left, level, times)
        programme.lower(left)
        uses = programme.solve(_MORE_ROUNDS)
    whole = _stacked(chosen, [])
    return whole if not best or used_length(whole) < used_length(best) else best


def _without(left: Sequence[int], level: _Level, times: int) -> list[int]:
    return [have - times * need for have, need in zip(left, level.counts(len(left)), strict=True)]


def _worth_cutting(
    levels: Sequence[_Level], uses: Sequence[float], left: Sequence[int]
) -> list[tuple[_Level, int]]:
    """Return the levels used nearly whole times, at least the one used most, and how often."""
    cut: list[tuple[_Level, int]] = []
    still = list(left)
    for column in sorted(range(len(uses)), key=lambda c: (-uses[c], c)):
        if cut and uses[column] < _FIX:
            break
        level = levels[column]
        times = min(_times(level, still), max(1, int(uses[column] + 1 - _FIX)))
        if times:
            cut.append((level, times))
            still = _without(still, level, times)
    return cut


def _rest(wanted: Wanted, left: Sequence[int]) -> list[Laid]:
    """Return what the levels left over, laid by the search."""
    options = tuple(o for o in wanted.options if left[o.kind])
    return search(Wanted(options, tuple(left), wanted.width, 1), _REST_TRIES)


def _stacked(levels: Sequence[tuple[_Level, int]], rest: Sequence[Laid]) -> list[Laid]:
    """Return the levels one above the other, and the rest above them."""
    laid, top = list[Laid](), 0
    for level, times in sorted(levels, key=lambda one: -one[0].height):
        for _ in range(times):
            laid += [piece._replace(y=piece.y + top) for piece in level.laid]
            top += level.height
    return laid + [piece._replace(y=piece.y + top) for piece in rest]
