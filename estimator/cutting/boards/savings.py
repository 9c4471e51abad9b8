"""Doing without a board: its pieces cut from what the others leave over, at the price of some joints."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from estimator.core.units import Nm
from estimator.cutting.boards.strip_supply import CLEAR
from estimator.cutting.plans import CutSheet, Hole, Placed, Rectangle, SheetPiece, Tile

_MOST_PARTS = 6
_VICTIMS = 4


@dataclass(frozen=True, slots=True)
class Limits:
    """What a joint more must respect: smallest piece, saw cut, distance to joints of the layers beside."""

    least: Nm
    kerf: Nm
    stagger: Nm


@dataclass(frozen=True, slots=True)
class _Spare:
    """A leftover of a board."""

    sheet: int
    area: Rectangle


@dataclass(frozen=True, slots=True)
class _Fit:
    """A piece that a leftover gives: its size in the cavity, and whether it lies turned on the board."""

    spare: _Spare
    width: Nm
    height: Nm
    turned: bool


class _Joints:
    """Where new joints of a tile may stand."""

    def __init__(self, holes: Sequence[Hole], tiles: Sequence[Tile], limits: Limits) -> None:
        self.holes = {hole.name: hole for hole in holes}
        self.limits = limits
        self.lines: dict[tuple[str, int], tuple[set[Nm], set[Nm]]] = defaultdict(lambda: (set(), set()))
        for tile in tiles:
            self.add(tile)

    def add(self, tile: Tile) -> None:
        across, up = self.lines[tile.hole, tile.layer]
        across.add(tile.x)
        up.add(tile.y)

    def clear(self, tile: Tile, axis: int, place: Nm) -> bool:
        """Return whether a joint may stand at `place`, across (axis 0) or up (axis 1) the cavity."""
        if axis == 0 and any(abs(place - seam) < CLEAR for seam in self.holes[tile.hole].seams):
            return False
        beside = [self.lines.get((tile.hole, tile.layer + step)) for step in (-1, 1)]
        return all(
            abs(place - line) >= self.limits.stagger
            for lines in beside
            if lines is not None and self.limits.stagger
            for line in lines[axis]
            if line
        )

    def sizes(self, tile: Tile, axis: int, room: Nm) -> Iterator[Nm]:
        """Return how much of the tile, along an axis, a leftover of that size can give."""
        start, whole = (tile.x, tile.width) if axis == 0 else (tile.y, tile.height)
        least = max(1, self.limits.least)
        if room >= whole:
            yield whole
        for size in (min(room, whole - least), whole // 2):
            if least <= size <= min(room, whole - least) and self.clear(tile, axis, start + size):
                yield size
                return


def _fits(tile: Tile, spares: Sequence[_Spare], joints: _Joints) -> Iterator[_Fit]:
    small = min(joints.limits.least, tile.width, tile.height)
    alike = {(s.area.width, s.area.height): s for s in reversed(spares)}
    alike = {size: spare for size, spare in alike.items() if min(size) >= small}
    for spare in alike.values():
        for turned in (False, True):
            room = (spare.area.width, spare.area.height)
            wide, high = room[::-1] if turned else room
            for width in joints.sizes(tile, 0, wide):
                for height in joints.sizes(tile, 1, high):
                    if width == tile.width or height == tile.height:
                        yield _Fit(spare, width, height, turned)


def _rest_of_spare(fit: _Fit, kerf: Nm) -> list[_Spare]:
    """Return what is left of the leftover, the larger part whole."""
    area = fit.spare.area
    wide, high = (fit.height, fit.width) if fit.turned else (fit.width, fit.height)
    right, top = area.width - wide - kerf, area.height - high - kerf
    if right * area.height >= top * area.width:
        parts = [(wide + kerf, 0, right, area.height), (0, high + kerf, wide, top)]
    else:
        parts = [(wide + kerf, 0, right, high), (0, high + kerf, area.width, top)]
    return [
        _Spare(fit.spare.sheet, Rectangle(area.x + x, area.y + y, w, h))
        for x, y, w, h in parts
        if w > 0 and h > 0
    ]


@dataclass(slots=True)
class _Trial:
    """An attempt to cut a board's tiles from leftovers: new tiles, where they lie, leftovers still there."""

    spares: list[_Spare]
    tiles: list[tuple[Tile, _Fit]]

    def cover(self, tile: Tile, joints: _Joints) -> bool:
        """Cut a tile from leftovers, in parts where need be; return whether that was possible."""
        waiting, parts = [tile], 0
        while waiting:
            want = waiting.pop()
            parts += 1
            best = max(
                _fits(want, self.spares, joints),
                key=lambda f: (f.width * f.height, -f.spare.area.width * f.spare.area.height),
                default=None,
            )
            if best is None or parts > _MOST_PARTS:
                return False
            self.tiles.append((replace(want, width=best.width, height=best.height), best))
            self.spares.remove(best.spare)
            self.spares += _rest_of_spare(best, joints.limits.kerf)
            if best.width < want.width:
                waiting.append(replace(want, x=want.x + best.width, width=want.width - best.width))
            elif best.height < want.height:
                waiting.append(replace(want, y=want.y + best.height, height=want.height - best.height))
        return True


def _without(sheets: Sequence[CutSheet], at: int, tiles: dict[str, Tile], joints: _Joints) -> _Trial | None:
    """Return the trial that cuts the tiles of one board from the others' leftovers, None where it fails."""
    spares = [_Spare(n, area) for n, sheet in enumerate(sheets) if n != at for area in sheet.offcuts]
    trial = _Trial(spares, [])
    wanted = [tiles[spot.piece.name] for spot in sheets[at].placed]
    if sum(s.area.width * s.area.height for s in spares) < sum(t.width * t.height for t in wanted):
        return None
    for tile in sorted(wanted, key=lambda t: (-t.width * t.height, t.name)):
        if not trial.cover(tile, joints):
            return None
    return trial


def _placed(tile: Tile, fit: _Fit) -> Placed:
    piece = SheetPiece(tile.name, tile.width, tile.height)
    wide, high = (tile.height, tile.width) if fit.turned else (tile.width, tile.height)
    return Placed(piece, fit.spare.area.x, fit.spare.area.y, wide, high)


def _renamed(trial: _Trial, tiles: dict[str, Tile]) -> list[tuple[Tile, _Fit]]:
    """Return the trial's tiles, the first part of each under its old name, the others under new ones."""
    last: dict[str, int] = defaultdict(int)
    for name, tile in tiles.items():
        last[tile.hole] = max(last[tile.hole], int(name.rpartition(".")[2]))
    seen: set[str] = set()
    found = []
    for tile, fit in trial.tiles:
        name = tile.name
        if name in seen:
            last[tile.hole] += 1
            name = f"{tile.hole}.{last[tile.hole]}"
        seen.add(name)
        found.append((replace(tile, name=name), fit))
    return found


def _applied(
    sheets: Sequence[CutSheet], at: int, trial: _Trial, tiles: dict[str, Tile]
) -> tuple[list[CutSheet], dict[str, Tile]]:
    """Return the boards and tiles once the trial is carried out."""
    fresh = _renamed(trial, tiles)
    added: dict[int, list[Placed]] = defaultdict(list)
    offcuts: dict[int, list[Rectangle]] = defaultdict(list)
    for tile, fit in fresh:
        added[fit.spare.sheet].append(_placed(tile, fit))
    for spare in trial.spares:
        offcuts[spare.sheet].append(spare.area)
    kept = [
        replace(sheet, placed=(*sheet.placed, *added[n]), offcuts=tuple(offcuts[n]))
        for n, sheet in enumerate(sheets)
        if n != at
    ]
    return kept, {**tiles, **{tile.name: tile for tile, _ in fresh}}


def save_boards(
    sheets: Sequence[CutSheet],
    tiles: Sequence[Tile],
    holes: Sequence[Hole],
    limits: Limits,
    least_boards: int,
) -> tuple[list[CutSheet], list[Tile]]:
    """Return the boards and tiles with as few boards as this can do, never under `least_boards`."""
    now, named = list(sheets), {tile.name: tile for tile in tiles}
    while len(now) > least_boards:
        joints = _Joints(holes, list(named.values()), limits)
        order = sorted(range(len(now)), key=lambda n: sum(s.width * s.height for s in now[n].placed))
        for at in order[:_VICTIMS]:
            trial = _without(now, at, named, joints)
            if trial:
                now, named = _applied(now, at, trial, named)
                break
        else:
            break
    return now, list(named.values())
