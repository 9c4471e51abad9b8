"""Filling one rectangle from the bottom up, without regard to straight cuts: scissors can follow it.

The upper edge of what is laid, the skyline, is kept; the lowest gap in it is filled next, best by a piece
that fits the gap exactly and ends level with a neighbour.
"""

from collections.abc import Sequence
from typing import NamedTuple

from estimator.core.units import Nm
from estimator.cutting.guillotine import Filling, Laid, Option, Region, Split

_WEIGHTS: dict[Split, tuple[int, int]] = {
    "keep largest": (2, 1),
    "across": (1, 2),
    "along": (0, 1),
    "keep narrow": (0, 0),
}
"""What it counts that a piece is as wide as the gap, and that it ends level with a neighbour."""


class _Step(NamedTuple):
    """A level stretch of the skyline."""

    x: Nm
    y: Nm
    width: Nm


class _Gap(NamedTuple):
    """The lowest stretch: its place in the skyline, and how far its neighbours rise above it."""

    at: int
    x: Nm
    y: Nm
    width: Nm
    left: Nm
    right: Nm


def _lowest(steps: Sequence[_Step], top: Nm) -> _Gap:
    at = min(range(len(steps)), key=lambda i: (steps[i].y, i))
    here = steps[at]
    left = steps[at - 1].y if at else top
    right = steps[at + 1].y if at + 1 < len(steps) else top
    return _Gap(at, here.x, here.y, here.width, left - here.y, right - here.y)


def _choose(
    options: Sequence[Option], left: Sequence[int], gap: _Gap, room: Nm, split: Split
) -> Option | None:
    """Return the option that fits a gap best by the weights of `split`; of equals the first."""
    best, rank = None, -1
    as_wide, level = _WEIGHTS[split]
    for option in options:
        wide, high, kind = option
        if wide <= gap.width and high <= room and left[kind]:
            fit = as_wide * (wide == gap.width) + level * (high in {gap.left, gap.right})
            if fit > rank:
                best, rank = option, fit
                if fit == as_wide + level:
                    return option
    return best


def _merged(steps: Sequence[_Step]) -> list[_Step]:
    """Return the skyline with level neighbours made one, and empty ones dropped."""
    found: list[_Step] = []
    for step in steps:
        if not step.width:
            continue
        if found and found[-1].y == step.y:
            found[-1] = found[-1]._replace(width=found[-1].width + step.width)
        else:
            found.append(step)
    return found


def _laid_in(gap: _Gap, option: Option) -> tuple[Nm, list[_Step]]:
    """Return where a piece lies in a gap, by the neighbour it is nearer level with, and the new steps."""
    spare = gap.width - option.width
    at_left = abs(gap.left - option.height) <= abs(gap.right - option.height)
    x = gap.x if at_left else gap.x + spare
    piece = _Step(x, gap.y + option.height, option.width)
    rest = _Step(gap.x + option.width if at_left else gap.x, gap.y, spare)
    return x, [piece, rest] if at_left else [rest, piece]


def fill_skyline(region: Region, options: Sequence[Option], left: list[int], split: Split) -> Filling:
    """Return `region` filled greedily from its lowest gap up; what is left over is not worked out.

    Args:
        region: the rectangle to fill.
        options: positions of the kinds, the most urgent first.
        left: how many of each kind are still wanted; lowered by what is laid.
        split: here, which fit counts most; there is no cut to choose.
    """
    laid: list[Laid] = []
    steps = [_Step(region.x, region.y, region.width)]
    top = region.y + region.height
    while True:
        gap = _lowest(steps, top)
        if gap.y >= top:
            return Filling(tuple(laid), ())
        found = _choose(options, left, gap, top - gap.y, split)
        if found is None:
            fresh = [_Step(gap.x, gap.y + min(gap.left, gap.right), gap.width)]
        else:
            x, fresh = _laid_in(gap, found)
            laid.append(Laid(found.kind, x, gap.y, found.width, found.height))
            left[found.kind] -= 1
        steps = _merged([*steps[: gap.at], *fresh, *steps[gap.at + 1 :]])
