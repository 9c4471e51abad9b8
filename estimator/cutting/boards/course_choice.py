"""Which scheme each cavity gets: a linear programme over schemes and rip patterns, made as needed."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

import highspy
import numpy as np

from estimator.core.units import Nm
from estimator.cutting.bars import on_grid
from estimator.cutting.boards.courses import Band, Board, Scheme, Way, run_of
from estimator.cutting.knapsack import fill
from estimator.cutting.programme import quiet_highs

_ROUNDS = 60
_NEW = 6
"""Patterns a round."""
_GRAIN = 1_000_000
_NEAR = 1.002
"""A pattern worth no more than this is not worth adding."""
LIGHT = 0.004
"""What one more piece counts against a board where only boards are to be few."""
_BAND = 0.02
"""What one more breadth to set the saw to counts, shared by the cavities that use it."""


@dataclass(frozen=True, slots=True)
class Cavities:
    """Cavities of one size, and the schemes open to them."""

    width: Nm
    height: Nm
    number: int
    schemes: tuple[Scheme, ...]


def _strips(band: Band, run: Nm, board: Board, *, sparing: bool) -> float:
    """Return how many strips a course takes, as a share; a useless end counts unless courses are sparing."""
    length = board.strip_length(band.way) + board.kerf
    end = length % (run + board.kerf)
    if end - board.kerf < board.least and not sparing:
        length -= end
    return (run + board.kerf * ceil(run / board.strip_length(band.way))) / length


def _pieces(scheme: Scheme, run: Nm, board: Board) -> int:
    return sum(ceil(run / board.strip_length(band.way)) for band in scheme.bands)


class _Model:
    """The programme: a row a size of cavity, a row a band; a column a scheme, a column a pattern."""

    def __init__(self, cavities: Sequence[Cavities], board: Board, piece: float, *, sparing: bool) -> None:
        self.cavities, self.board, self.piece, self.sparing = cavities, board, piece, sparing
        self.bands = sorted({band for c in cavities for s in c.schemes for band in s.bands})
        self.row = {band: len(cavities) + at for at, band in enumerate(self.bands)}
        self.highs = quiet_highs()
        self.columns: list[tuple[int, Scheme]] = []
        none = np.array([], dtype=np.int32), np.array([], dtype=np.float64)
        for cavity in cavities:
            self.highs.addRow(float(cavity.number), float(cavity.number), 0, *none)
        for _ in self.bands:
            self.highs.addRow(0.0, highspy.kHighsInf, 0, *none)
        for at, cavity in enumerate(cavities):
            for scheme in cavity.schemes:
                self._add_scheme(at, scheme)
        for band in self.bands:
            number = (self.board.span(band.way) + self.board.kerf) // (band.breadth + self.board.kerf)
            self.add_pattern({band: number})

    def _add_scheme(self, at: int, scheme: Scheme) -> None:
        cavity = self.cavities[at]
        run = run_of(scheme, cavity.width, cavity.height)
        entries = {at: 1.0}
        for band in scheme.bands:
            entries[self.row[band]] = entries.get(self.row[band], 0.0) - _strips(
                band, run, self.board, sparing=self.sparing
            )
        breadths = len({b for b in scheme.bands if b.breadth not in {self.board.width, self.board.length}})
        cost = self.piece * _pieces(scheme, run, self.board) + _BAND * breadths / cavity.number
        self._add(cost, entries)
        self.columns.append((at, scheme))

    def add_pattern(self, pattern: dict[Band, int]) -> None:
        self._add(1.0, {self.row[band]: float(number) for band, number in pattern.items()})

    def _add(self, cost: float, entries: dict[int, float]) -> None:
        rows = np.array(list(entries), dtype=np.int32)
        self.highs.addCol(cost, 0.0, highspy.kHighsInf, len(rows), rows, np.array(list(entries.values())))

    def better(self, way: Way, duals: Sequence[float]) -> list[dict[Band, int]]:
        """Return patterns that would pay at these duals: the best, and the best around single bands."""
        bands = [band for band in self.bands if band.way == way]
        if not bands:
            return []
        span, kerf = self.board.span(way), self.board.kerf
        cells, capacity = on_grid([b.breadth + kerf for b in bands], span + kerf, up=True)
        worth = np.array([max(0, int(duals[self.row[band]] * _GRAIN)) for band in bands], np.int64)
        table = fill(cells, [capacity] * len(bands), worth, capacity)
        if table.best[capacity] <= _GRAIN * _NEAR:
            return []
        rooms = [capacity, *(capacity - cell for cell in cells)]
        values = [
            int(table.best[capacity]),
            *(int(w + table.best[r]) for w, r in zip(worth, rooms[1:], strict=True)),
        ]
        found: dict[tuple[int, ...], None] = {}
        for at in sorted(range(len(rooms)), key=lambda at: (-values[at], at)):
            if len(found) == _NEW or values[at] <= _GRAIN * _NEAR:
                break
            counts = table.counts(rooms[at])
            if at:
                counts[at - 1] += 1
            found[tuple(counts.tolist())] = None
        return [{b: n for b, n in zip(bands, counts, strict=True) if n} for counts in found]

    def solve(self) -> list[float]:
        """Return how often each scheme column is used once no pattern pays any more."""
        self.highs.run()
        for _ in range(_ROUNDS):
            duals = list(self.highs.getSolution().row_dual)
            ways: tuple[Way, ...] = ("ripped", "crosscut")
            fresh = [pattern for way in ways for pattern in self.better(way, duals)]
            if not fresh:
                break
            for pattern in fresh:
                self.add_pattern(pattern)
            self.highs.run()
        return list(self.highs.getSolution().col_value)[: len(self.columns)]


def _rounded(shares: Sequence[tuple[float, Scheme]], number: int) -> list[Scheme]:
    """Return `number` schemes in the proportion of the shares, the largest remainders taking the odd ones."""
    counts = [int(share + 1e-6) for share, _ in shares]
    order = sorted(range(len(shares)), key=lambda i: (counts[i] - shares[i][0], i))
    for at in order[: number - sum(counts)]:
        counts[at] += 1
    return [scheme for count, (_, scheme) in zip(counts, shares, strict=True) for _ in range(count)]


def choose(
    cavities: Sequence[Cavities], board: Board, piece: float = LIGHT, *, sparing: bool
) -> list[list[Scheme]]:
    """Return, for each size of cavity, the scheme of each cavity of that size.

    Args:
        cavities: the sizes, how many of each, and the schemes open to them.
        board: the board.
        piece: what one more piece counts, in boards.
        sparing: whether joints are spent to leave no useless end of a strip.
    """
    model = _Model(cavities, board, piece, sparing=sparing)
    shares: list[list[tuple[float, Scheme]]] = [[] for _ in cavities]
    for (at, scheme), share in zip(model.columns, model.solve(), strict=True):
        shares[at].append((share, scheme))
    return [_rounded(share, cavity.number) for share, cavity in zip(shares, cavities, strict=True)]
