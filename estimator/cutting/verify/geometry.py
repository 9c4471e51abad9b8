"""What the checks of drawn plans ask of rectangles; shares no code with the planners."""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from estimator.core.units import Nm


class Box(NamedTuple):
    """A rectangle by its edges."""

    left: Nm
    bottom: Nm
    right: Nm
    top: Nm
    name: str


def box(name: str, x: Nm, y: Nm, width: Nm, height: Nm) -> Box:
    """Return the rectangle with its lower-left corner at `x`, `y`."""
    return Box(x, y, x + width, y + height, name)


def outside(boxes: Sequence[Box], width: Nm, height: Nm) -> list[Box]:
    """Return the boxes that stick out of a `width` x `height` rectangle at the origin, or have no size."""
    return [
        b
        for b in boxes
        if b.left < 0
        or b.bottom < 0
        or b.right > width
        or b.top > height
        or b.left >= b.right
        or b.bottom >= b.top
    ]


def overlaps(boxes: Sequence[Box], gap: Nm = 0) -> Iterator[tuple[str, str]]:
    """Return the names of every two boxes that overlap, or lie less than `gap` apart both ways.

    The sweep goes along the longer side of what they cover, so that few boxes are open at a time.
    """
    long = max((b.top for b in boxes), default=0) > max((b.right for b in boxes), default=0)
    swept = [Box(b.bottom, b.left, b.top, b.right, b.name) for b in boxes] if long else boxes
    open_boxes: list[Box] = []
    for one in sorted(swept):
        open_boxes = [other for other in open_boxes if other.right + gap > one.left]
        for other in open_boxes:
            if one.bottom < other.top + gap and other.bottom < one.top + gap:
                yield other.name, one.name
        open_boxes.append(one)


def _groups(boxes: Sequence[Box], kerf: Nm, *, across: bool) -> list[list[Box]]:
    """Return the boxes in groups that straight cuts one way part: whole gaps of a kerf between them."""
    ordered = sorted(boxes, key=lambda b: b.left if across else b.bottom)
    groups: list[list[Box]] = [[]]
    end: Nm | None = None
    for one in ordered:
        start, stop = (one.left, one.right) if across else (one.bottom, one.top)
        if end is not None and start >= end + kerf:
            groups.append([])
            end = stop
        end = stop if end is None else max(end, stop)
        groups[-1].append(one)
    return groups


def cuttable(boxes: Sequence[Box], kerf: Nm = 0) -> bool:
    """Return whether cuts from edge to edge, each a kerf wide, part every box from the others."""
    waiting = [list(boxes)]
    while waiting:
        group = waiting.pop()
        if len(group) <= 1:
            continue
        parts = _groups(group, kerf, across=True)
        if len(parts) == 1:
            parts = _groups(group, kerf, across=False)
        if len(parts) == 1:
            return False
        waiting += parts
    return True
