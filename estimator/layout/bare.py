"""Parts of a band in which no frame fits: they stay bare, and the frames go round them."""

from collections.abc import Sequence
from dataclasses import replace

from estimator.core.errors import Problem
from estimator.core.units import Display, format_length
from estimator.layout.bounds import Band, Hole
from estimator.layout.records import SIDES, Side
from estimator.layout.rects import Rect, contact
from estimator.layout.sites import Site


def without(band: Band, bare: Sequence[Rect]) -> Band:
    """Return the band with its bare parts as holes, or as more of the opening beside them.

    Beside an opening of the same height (or width) a bare part makes that opening larger, so that one
    casing runs past both. Elsewhere it is a hole of its own; its rectangle is turned inside out where it
    is smaller than two casings, and is the bare part itself once the casing is added.
    """
    for rect in bare:
        beside = _beside(band, rect)
        own = rect if beside is None else _hull(band.grown(beside), rect)
        kept = tuple(h for h in band.holes if h is not beside)
        shrunk = own.grown(*(-band.casing,) * 4)
        made = Hole("bare", "vent", shrunk) if beside is None else replace(beside, rect=shrunk)
        band = replace(band, holes=(*kept, made))
    return band


def bare_problem(site: Site, band: Band, rect: Rect, display: Display) -> Problem:
    """Return the warning that a part of a band stays bare, with the opening beside it."""
    beside = next((h for h in band.holes if h.name != "bare" and _touches(band, h, rect)), None)
    size = f"{format_length(rect.width, display)} x {format_length(rect.height, display)}"
    near = f" beside {beside.kind} {beside.name}" if beside else ""
    what = f"{site.name}: a part of the band{near}, {size}, is too narrow for a frame and stays bare"
    fix = "Widen the band, move its end, or close it with a strip."
    return Problem(site.where, what, fix, severity="warning")


def _beside(band: Band, rect: Rect) -> Hole | None:
    """Return the hole that has a whole side in common with a bare part."""
    for hole in band.holes:
        seen = band.grown(hole).common(band.net)
        if any(_whole_side(rect, side, seen) for side in SIDES):
            return hole
    return None


def _whole_side(rect: Rect, side: Side, other: Rect) -> bool:
    return _meet(rect, side, other) and rect.span(side) == other.span(side)


def _touches(band: Band, hole: Hole, rect: Rect) -> bool:
    seen = band.grown(hole).common(band.net)
    return any(_meet(rect, side, seen) for side in SIDES)


def _meet(rect: Rect, side: Side, other: Rect) -> bool:
    return other.area > 0 and contact(rect, side, other) is not None


def _hull(a: Rect, b: Rect) -> Rect:
    return Rect(
        min(a.left, b.left), min(a.bottom, b.bottom), max(a.right, b.right), max(a.top, b.top)
    )  # fmt: skip
