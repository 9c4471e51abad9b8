"""Rectangles on a wall: x along it from its left end, z above the floor, whole nanometres.

Polygons on the plan: area, clipping to a convex shape, and whether sides cross. Points are whole nm.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

from estimator.core.units import Nm

Side = Literal["left", "right", "bottom", "top"]
SIDES: tuple[Side, ...] = ("left", "right", "bottom", "top")


@dataclass(frozen=True, slots=True, order=True)
class Rect:
    """A rectangle on a wall; ordered left to right, then bottom to top."""

    left: Nm
    bottom: Nm
    right: Nm
    top: Nm

    @property
    def width(self) -> Nm:
        """Return its extent along the wall."""
        return self.right - self.left

    @property
    def height(self) -> Nm:
        """Return its extent upwards."""
        return self.top - self.bottom

    @property
    def area(self) -> int:
        """Return its area, nm2; 0 where nothing is left of it."""
        return max(self.width, 0) * max(self.height, 0)

    def grown(self, left: Nm, right: Nm, bottom: Nm, top: Nm) -> "Rect":
        """Return it with each side moved outwards (inwards where negative)."""
        return Rect(self.left - left, self.bottom - bottom, self.right + right, self.top + top)

    def moved(self, along: Nm, up: Nm) -> "Rect":
        """Return it moved along the wall and upwards."""
        return Rect(self.left + along, self.bottom + up, self.right + along, self.top + up)

    def common(self, other: "Rect") -> "Rect":
        """Return what both cover; its `area` is 0 where they do not overlap."""
        return Rect(
            max(self.left, other.left), max(self.bottom, other.bottom),
            min(self.right, other.right), min(self.top, other.top),
        )  # fmt: skip

    def overlaps(self, other: "Rect") -> bool:
        """Return whether they share area; touching is no overlap."""
        return self.common(other).area > 0

    def mirrored(self, about: Nm) -> "Rect":
        """Return it mirrored: `about` is the left plus the right of what it stays within."""
        return Rect(about - self.right, self.bottom, about - self.left, self.top)

    def span(self, side: Side) -> tuple[Nm, Nm]:
        """Return where a side starts and ends, along the wall or upwards."""
        return (self.bottom, self.top) if side in {"left", "right"} else (self.left, self.right)

    def at(self, side: Side) -> Nm:
        """Return the coordinate of a side."""
        return {"left": self.left, "right": self.right, "bottom": self.bottom, "top": self.top}[side]


OPPOSITE: dict[Side, Side] = {"left": "right", "right": "left", "bottom": "top", "top": "bottom"}


def contact(rect: Rect, side: Side, other: Rect, gap: Nm = 0) -> tuple[Nm, Nm] | None:
    """Return the part of a side that `other` faces across exactly `gap`, None where it does not."""
    away = 1 if side in {"right", "top"} else -1
    if other.at(OPPOSITE[side]) - rect.at(side) != away * gap:
        return None
    (start, end), (first, last) = rect.span(side), other.span(side)
    low, high = max(start, first), min(end, last)
    return (low, high) if low < high else None


def uncovered(span: tuple[Nm, Nm], covers: Sequence[tuple[Nm, Nm]]) -> list[tuple[Nm, Nm]]:
    """Return the parts of a span that no cover lies over, in order."""
    left, at = [], span[0]
    for low, high in sorted(covers):
        if low > at:
            left.append((at, min(low, span[1])))
        at = max(at, high)
    if at < span[1]:
        left.append((at, span[1]))
    return left


Point: TypeAlias = tuple[Nm, Nm]


def signed_area(points: Sequence[Point]) -> float:
    """Return the area enclosed, nm2, negative where the corners run clockwise (the shoelace formula)."""
    pairs = zip(points, (*points[1:], *points[:1]), strict=True)
    return sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in pairs) / 2


def area(points: Sequence[Point]) -> float:
    """Return the area enclosed, nm2, whichever way the corners run."""
    return abs(signed_area(points))


def side(start: Point, end: Point, point: Point) -> int:
    """Return which side of start -> end a point is on: over 0 right, under 0 left, 0 on the line."""
    return (end[1] - start[1]) * (point[0] - start[0]) - (end[0] - start[0]) * (point[1] - start[1])


def clip(subject: Sequence[Point], window: Sequence[Point]) -> tuple[Point, ...]:
    """Return the part of `subject` inside the convex `window`, whose corners run clockwise.

    A subject that falls apart stays one ring with sides that retrace themselves, so its area is right.

    Source: Sutherland and Hodgman, Reentrant polygon clipping, CACM 17 (1974) 32-42.
    """
    ring = list(subject)
    for start, end in zip(window, (*window[1:], *window[:1]), strict=True):
        if not ring:
            break
        ring = _clip_side(ring, start, end)
    return tuple(ring)


def _clip_side(ring: list[Point], start: Point, end: Point) -> list[Point]:
    kept: list[Point] = []
    for before, point in zip((ring[-1], *ring[:-1]), ring, strict=True):
        was, now = side(start, end, before), side(start, end, point)
        if (was < 0 < now) or (now < 0 < was):
            part = was / (was - now)
            kept.append((
                round(before[0] + part * (point[0] - before[0])),
                round(before[1] + part * (point[1] - before[1])),
            ))  # fmt: skip
        if now >= 0:
            kept.append(point)
    return kept


def crosses(points: Sequence[Point]) -> bool:
    """Return whether two sides of the ring that do not share a corner meet."""
    sides = list(zip(points, (*points[1:], *points[:1]), strict=True))
    count = len(sides)
    return any(
        _meet(*sides[i], *sides[j])
        for i in range(count)
        for j in range(i + 2, count)
        if not (i == 0 and j == count - 1)
    )


def _meet(a: Point, b: Point, c: Point, d: Point) -> bool:
    across = side(a, b, c) * side(a, b, d) <= 0 and side(c, d, a) * side(c, d, b) <= 0
    boxes = all(
        max(min(a[k], b[k]), min(c[k], d[k])) <= min(max(a[k], b[k]), max(c[k], d[k])) for k in (0, 1)
    )
    return across and boxes


def span_inside(start: Point, end: Point, window: Sequence[Point]) -> tuple[float, float] | None:
    """Return which part (0 to 1 from `start`) of a segment lies inside a convex clockwise `window`."""
    first, last = 0.0, 1.0
    for a, b in zip(window, (*window[1:], *window[:1]), strict=True):
        at_start, at_end = side(a, b, start), side(a, b, end)
        if at_start < 0 and at_end < 0:
            return None
        if at_start < 0:
            first = max(first, at_start / (at_start - at_end))
        elif at_end < 0:
            last = min(last, at_start / (at_start - at_end))
    return (first, last) if first < last else None
