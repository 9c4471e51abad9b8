"""Rectangles on a wall: x along it from its left end, z above the floor, whole nanometres."""

from collections.abc import Sequence
from dataclasses import dataclass

from estimator.core.units import Nm
from estimator.layout.records import Side


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
