"""The fixing schedule: each frame's screws, what they hold in, and where each one goes."""

from collections.abc import Iterator, Sequence
from typing import Any

from estimator.core.units import Nm, format_length
from estimator.layout.records import Fixing, Frame
from estimator.pipeline import Estimate

Row = dict[str, Any]
_WORDS = {
    "stud": "stud",
    "board": "wall board only",
    "masonry": "masonry",
    "hanger": "structure above",
    "frame": "frame or cleat",
}


def fixing_rows(frame: Frame, line: Nm | None, estimate: Estimate) -> Iterator[Row]:
    """Yield a row for each kind of fixing of a frame.

    Args:
        frame: the frame.
        line: height of the laser line; None for pieces, whose places are given from their own corner.
        estimate: for units and the price list.
    """
    groups: dict[tuple[str, str, Nm, Nm], list[Fixing]] = {}
    for fixing in frame.fixings:
        groups.setdefault((fixing.screw, fixing.holds_in, fixing.bite, fixing.past_face), []).append(fixing)
    display = estimate.units.display
    for (screw, holds_in, bite, past), found in groups.items():
        yield {
            "frame": frame.name,
            "screw": estimate.catalogue.item(screw).description,
            "count": len(found),
            "holds_in": _WORDS[holds_in],
            "bite": format_length(bite, display) if bite else "–",
            "past": format_length(past, display) if past else "–",
            "places": list(_places(frame, found, line, estimate)),
        }


def _places(frame: Frame, found: Sequence[Fixing], line: Nm | None, estimate: Estimate) -> Iterator[str]:
    """Yield a sentence for each level of fixings: how high it is, and where along it they go."""
    display, left = estimate.units.display, 0 if line is None else frame.placement.x
    levels: dict[Nm, list[Nm]] = {}
    for fixing in found:
        levels.setdefault(fixing.y, []).append(fixing.x)
    for along, rows in _alike(levels).items():
        heights = "; ".join(_height(frame, y, line, estimate) for y in rows)
        xs = ", ".join(format_length(left + x, display) for x in along)
        yield f"{heights}: at {xs}"


def _alike(levels: dict[Nm, list[Nm]]) -> dict[tuple[Nm, ...], list[Nm]]:
    """Return levels by the places along them, those that have the same together."""
    same: dict[tuple[Nm, ...], list[Nm]] = {}
    for y, xs in sorted(levels.items()):
        same.setdefault(tuple(sorted(xs)), []).append(y)
    return same


def _height(frame: Frame, y: Nm, line: Nm | None, estimate: Estimate) -> str:
    display = estimate.units.display
    if line is None:
        return f"{format_length(y, display)} up"
    off = frame.placement.z + y - line
    return f"{format_length(abs(off), display)} {'above' if off >= 0 else 'below'} the line"
