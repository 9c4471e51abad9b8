"""Cavities filled layer by layer with the pieces of their courses, joints of a layer off the last one's."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import accumulate, permutations

from estimator.core.units import LONGEST, Nm
from estimator.cutting.boards.courses import Band, Board, Scheme
from estimator.cutting.boards.strip_supply import CLEAR, Run, Supply, fill_run, joints
from estimator.cutting.plans import Hole, Tile

_FEW = 5
"""Bands up to which every order is tried."""


@dataclass(frozen=True, slots=True)
class Rules:
    """How courses are filled.

    Attributes:
        stagger: joints of a layer keep this far from those of the layer before, where they can.
        thrift: how many joints are spent to save board; see `Supply`.
        broken: a course of whole boards is split where nothing else sets its joints off.
    """

    stagger: Nm
    thrift: int
    broken: bool


@dataclass(frozen=True, slots=True)
class Course:
    """One course of one layer: where it is, and its pieces' lengths in order."""

    hole: Hole
    layer: int
    upright: bool
    band: Band
    offset: Nm
    pieces: tuple[Nm, ...]

    def tiles(self) -> list[tuple[Nm, Nm, Nm, Nm]]:
        """Return each piece's x, y, width and height within the cavity."""
        starts = [0, *accumulate(self.pieces)][:-1]
        if self.upright:
            return [
                (self.offset, at, self.band.breadth, piece)
                for at, piece in zip(starts, self.pieces, strict=True)
            ]
        return [
            (at, self.offset, piece, self.band.breadth) for at, piece in zip(starts, self.pieces, strict=True)
        ]


@dataclass(slots=True)
class Tiling:
    """Every course so far, and the strips of each band they are cut from."""

    board: Board
    rules: Rules
    courses: list[Course] = field(default_factory=list)
    supplies: dict[Band, Supply] = field(default_factory=dict)
    edges: dict[str, tuple[tuple[Nm, ...], tuple[Nm, ...]]] = field(default_factory=dict)
    """Joints of the layer before in each cavity: places across, then places up."""

    def supply(self, band: Band) -> Supply:
        """Return the strips of a band, none yet where it is new."""
        if band not in self.supplies:
            length = self.board.strip_length(band.way)
            self.supplies[band] = Supply(length, self.board.kerf, self.board.least, self.rules.thrift)
        return self.supplies[band]

    def add_layer(self, hole: Hole, layer: int, scheme: Scheme) -> None:
        """Fill one layer of a cavity."""
        across, up = self.edges.get(hole.name, ((), ()))
        seams = hole.seams
        beside, along = (across, up) if scheme.upright else (up, across)
        bands = self._ordered(scheme, beside, seams if scheme.upright else ())
        length = hole.height if scheme.upright else hole.width
        never = () if scheme.upright else seams
        offset, fresh_along, fresh_beside = 0, set[Nm](), set[Nm]()
        for band in bands:
            run = Run(len(self.courses), length, along, never, self.rules.stagger)
            pieces = tuple(fill_run(self.supply(band), run))
            self.courses.append(Course(hole, layer, scheme.upright, band, offset, pieces))
            fresh_along |= set(joints(pieces))
            offset += band.breadth
            fresh_beside.add(offset)
        lines = tuple(sorted(fresh_beside - {offset})), tuple(sorted(fresh_along))
        self.edges[hole.name] = lines if scheme.upright else (lines[1], lines[0])

    def _ordered(self, scheme: Scheme, beside: Sequence[Nm], seams: Sequence[Nm]) -> tuple[Band, ...]:
        """Return the bands in the order whose joints keep clearest of the layer before and of the seams."""

        def clash(way: tuple[Band, ...]) -> tuple[int, int, int, tuple[Band, ...]]:
            places = joints([band.breadth for band in way])
            on_seam = sum(_gap(place, seams) < CLEAR for place in places)
            near = sum(_gap(place, beside) < self.rules.stagger for place in places)
            return on_seam, near, len(way), way

        best = min(_orders(scheme.bands), key=clash)
        on_seam, near, _, _ = clash(best)
        if on_seam or (near and self.rules.broken):
            return min(best, *self._split(scheme.bands), key=clash)
        return best

    def _split(self, bands: tuple[Band, ...]) -> list[tuple[Band, ...]]:
        """Return the bands with one course of whole boards split, a part at either end."""
        whole, least = Band(self.board.width, "ripped"), max(1, self.board.least)
        if whole not in bands:
            return [bands]
        rest = list(bands)
        rest.remove(whole)
        parts = {self.board.width // 2, self.board.width // 3, self.board.width // 4, least}
        return [
            (Band(part, "ripped"), *rest, Band(whole.breadth - part, "ripped"))
            for part in sorted(parts, reverse=True)
            if least <= part <= whole.breadth - least
        ] or [bands]


def _gap(place: Nm, others: Sequence[Nm]) -> Nm:
    return min((abs(place - other) for other in others), default=LONGEST)


def _orders(bands: tuple[Band, ...]) -> set[tuple[Band, ...]]:
    """Return the orders of the bands; of many only the turned-about and rotated ones."""
    if len(bands) <= _FEW:
        return set(permutations(bands))
    rotated = {bands[at:] + bands[:at] for at in range(len(bands))}
    return rotated | {way[::-1] for way in rotated}


def named_tiles(courses: Sequence[Course]) -> tuple[list[Tile], dict[tuple[int, int], Tile]]:
    """Return every tile, named by its cavity and a number, and each by its course and place in the course."""
    count: dict[str, int] = {}
    found: dict[tuple[int, int], Tile] = {}
    for number, course in enumerate(courses):
        for place, (x, y, width, height) in enumerate(course.tiles()):
            hole = course.hole.name
            count[hole] = count.get(hole, 0) + 1
            found[number, place] = Tile(hole, course.layer, f"{hole}.{count[hole]}", x, y, width, height)
    return list(found.values()), found


def clashes(tiles: Sequence[Tile], stagger: Nm) -> int:
    """Return how many joints stand closer than `stagger` to a parallel one of the layer before."""
    if not stagger:
        return 0
    edges: dict[tuple[str, int], tuple[set[Nm], set[Nm]]] = {}
    for tile in tiles:
        across, up = edges.setdefault((tile.hole, tile.layer), (set(), set()))
        across.add(tile.x)
        up.add(tile.y)
    total = 0
    for (hole, layer), lines in edges.items():
        before = edges.get((hole, layer - 1), (set(), set()))
        for here, there in zip(lines, before, strict=True):
            total += sum(any(abs(a - b) < stagger for b in there if b) for a in here if a)
    return total


def on_seams(tiles: Sequence[Tile], holes: Sequence[Hole]) -> int:
    """Return how many pieces begin at a seam of the cloth."""
    seams = {hole.name: set(hole.seams) for hole in holes}
    return sum(tile.x in seams[tile.hole] for tile in tiles)
