"""Drawings of cut sheets and rolls as inline SVG: to scale, dimensions on every piece, readable in grey.

The long side lies across the paper. A piece too small for its name and size carries a number, and a table
below the drawing gives the rest; no text stands over another.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html import escape
from typing import NamedTuple

from estimator.core.units import Display, Nm, format_length
from estimator.cutting.plans import CutSheet, PlacedCloth, RollPlan
from estimator.documents.lettering import text_width

PAPER_MM = 180.0
"""Width of a drawing: what A4 and Letter leave between their margins."""
_HIGHEST_MM = 110.0
_EDGE_MM = 4.0
_TEXTS_MM = (4.5, 4.0, 3.5, 3.0, 2.3)
"""Heights of letters tried, the largest first: a drawing may be printed at two thirds of its size."""
_LINE = 1.25
_MARGIN_MM = 6.0
_ROW_LENGTH = 4
"""A roll is drawn in rows no longer than this many of its widths."""


class _Area(NamedTuple):
    """A rectangle on the paper, in mm, y downwards."""

    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class _Shape:
    """Something drawn: where it lies along and across the stock, and what is written on it."""

    along: Nm
    across: Nm
    length: Nm
    breadth: Nm
    name: str
    size: str
    place: str
    waste: bool = False


@dataclass(frozen=True, slots=True)
class _Frame:
    """A stretch of the stock on the paper: from `start` on, `length` long, `breadth` wide."""

    start: Nm
    length: Nm
    breadth: Nm
    mm_per_nm: float

    def area(self, shape: _Shape) -> _Area:
        """Return where the shape lies on the paper, cut off at the ends of the frame."""
        first = max(shape.along, self.start)
        last = min(shape.along + shape.length, self.start + self.length)
        top = self.breadth - shape.across - shape.breadth
        scale = self.mm_per_nm
        return _Area(
            _MARGIN_MM + (first - self.start) * scale,
            _MARGIN_MM + top * scale,
            (last - first) * scale,
            shape.breadth * scale,
        )


def _size(width: Nm, height: Nm, display: Display) -> str:
    return f"{format_length(width, display)} × {format_length(height, display)}"


def _text(x: float, y: float, text: str, height: float, *, upright: bool = False) -> str:
    turn = f' transform="rotate(-90 {x:.2f} {y:.2f})"' if upright else ""
    return f'<text x="{x:.2f}" y="{y:.2f}" font-size="{height:.2f}"{turn}>{escape(text)}</text>'


def _lines(area: _Area, lines: Sequence[str], height: float, *, upright: bool) -> str:
    """Return the lines centred in the area, '' where they do not fit."""
    along, across = (area.height, area.width) if upright else (area.width, area.height)
    longest = max(text_width(line, height) for line in lines)
    if longest > along - 1 or len(lines) * _LINE * height > across - 0.6:
        return ""
    middle_x, middle_y = area.x + area.width / 2, area.y + area.height / 2
    found = []
    for number, line in enumerate(lines):
        off = (number - (len(lines) - 1) / 2) * _LINE * height + 0.35 * height
        x, y = (middle_x + off, middle_y) if upright else (middle_x, middle_y + off)
        found.append(_text(x, y, line, height, upright=upright))
    return "".join(found)


def _label(area: _Area, shape: _Shape, number: str) -> tuple[str, bool]:
    """Return what is written on a shape, and whether that is all there is to say."""
    whole = [shape.name, shape.size]
    for height in _TEXTS_MM:
        for lines in (whole, [" ".join(whole)]):
            for upright in (False, True):
                if found := _lines(area, lines, height, upright=upright):
                    return found, True
    for height in _TEXTS_MM:
        if found := _lines(area, [number], height, upright=False):
            return found, False
    return "", False


def _rectangle(area: _Area, style: str) -> str:
    x, y, width, height = area
    return f'<rect x="{x:.2f}" y="{y:.2f}" width="{width:.2f}" height="{height:.2f}" class="{style}"/>'


def _edges(frame: _Frame, display: Display) -> str:
    """Return the outline of the stock with its length and breadth."""
    length, breadth = frame.length * frame.mm_per_nm, frame.breadth * frame.mm_per_nm
    outline = _rectangle(_Area(_MARGIN_MM, _MARGIN_MM, length, breadth), "stock")
    across = _text(_MARGIN_MM + length / 2, _MARGIN_MM - 1.5, format_length(frame.length, display), _EDGE_MM)
    side = format_length(frame.breadth, display)
    if text_width(side, _EDGE_MM) > breadth:
        return outline + across
    return outline + across + _text(_MARGIN_MM - 1.5, _MARGIN_MM + breadth / 2, side, _EDGE_MM, upright=True)


def _svg(frame: _Frame, shapes: Sequence[tuple[str, _Shape]], display: Display) -> tuple[str, set[str]]:
    """Return the drawing of one frame, and the numbers of the shapes it could not label in full."""
    parts, short = [_edges(frame, display)], set[str]()
    for number, shape in shapes:
        area = frame.area(shape)
        text, full = _label(area, shape, number)
        parts.append(_rectangle(area, "waste" if shape.waste else "piece") + text)
        if not full and not shape.waste:
            short.add(number)
    width = frame.length * frame.mm_per_nm + 2 * _MARGIN_MM
    height = frame.breadth * frame.mm_per_nm + 2 * _MARGIN_MM
    view = f'viewBox="0 0 {width:.2f} {height:.2f}" width="{width:.2f}mm" height="{height:.2f}mm"'
    return f'<svg xmlns="http://www.w3.org/2000/svg" role="img" {view}>{"".join(parts)}</svg>', short


def _legend(shapes: Sequence[tuple[str, _Shape]], short: set[str]) -> str:
    rows = [
        f"<tr><td>{number}</td><td>{escape(s.name)}</td><td>{escape(s.size)}</td><td>{escape(s.place)}</td></tr>"
        for number, s in shapes
        if number in short
    ]
    if not rows:
        return ""
    head = "<tr><th>No.</th><th>Piece</th><th>Size</th><th>From the lower left corner</th></tr>"
    return f'<table class="legend">{head}{"".join(rows)}</table>'


def _numbered(shapes: Sequence[_Shape]) -> list[tuple[str, _Shape]]:
    """Return the shapes with numbers in the order they lie, waste without one."""
    number, found = 0, []
    for shape in sorted(shapes, key=lambda s: (s.waste, s.along, s.across)):
        number += not shape.waste
        found.append(("" if shape.waste else str(number), shape))
    return found


def _sheet_shapes(sheet: CutSheet, *, upright: bool, display: Display) -> Iterator[_Shape]:
    def shape(x: Nm, y: Nm, width: Nm, height: Nm, name: str, *, waste: bool) -> _Shape:
        lie = (y, x, height, width) if upright else (x, y, width, height)
        place = f"{format_length(x, display)}, {format_length(y, display)}"
        return _Shape(*lie, name, _size(width, height, display), place, waste)

    for spot in sheet.placed:
        yield shape(spot.x, spot.y, spot.width, spot.height, spot.piece.name, waste=False)
    for rest in sheet.offcuts:
        yield shape(rest.x, rest.y, rest.width, rest.height, "offcut", waste=True)


def _scale(length: Nm, breadth: Nm) -> float:
    return min((PAPER_MM - 2 * _MARGIN_MM) / length, (_HIGHEST_MM - 2 * _MARGIN_MM) / breadth)


def sheet_drawing(sheet: CutSheet, display: Display = "imperial") -> str:
    """Return one cut sheet as an SVG drawing, followed by a table of the pieces too small to be labelled.

    Args:
        sheet: the sheet; its longer side is drawn across the paper.
        display: how sizes are written.
    """
    upright = sheet.stock.height > sheet.stock.width
    length, breadth = max(sheet.stock.width, sheet.stock.height), min(sheet.stock.width, sheet.stock.height)
    frame = _Frame(0, length, breadth, _scale(length, breadth))
    shapes = _numbered(list(_sheet_shapes(sheet, upright=upright, display=display)))
    drawing, short = _svg(frame, shapes, display)
    return drawing + _legend(shapes, short)


def _cloth_shape(cloth: PlacedCloth, display: Display) -> _Shape:
    place = f"{format_length(cloth.x, display)}, {format_length(cloth.y, display)}"
    name = f"{cloth.name} ↻" if cloth.turned else cloth.name
    size = _size(cloth.width, cloth.length, display)
    return _Shape(cloth.y, cloth.x, cloth.length, cloth.width, name, size, place)


def _rows(plan: RollPlan) -> list[tuple[Nm, Nm]]:
    """Return the stretches a roll is drawn in: broken where a cut goes right across, if that can be."""
    most = _ROW_LENGTH * plan.roll_width
    breaks = _clear_cuts(plan)
    rows, start = [], 0
    while plan.length - start > most:
        fit = [cut for cut in breaks if start < cut <= start + most]
        end = fit[-1] if fit else start + most
        rows.append((start, end - start))
        start = end
    return [*rows, (start, plan.length - start)]


def _clear_cuts(plan: RollPlan) -> list[Nm]:
    """Return where a cut right across the roll passes between pieces."""
    cuts, reach = [], 0
    for cloth in sorted(plan.placed, key=lambda c: c.y):
        if cloth.y >= reach and cloth.y:
            cuts.append(cloth.y)
        reach = max(reach, cloth.y + cloth.length)
    return cuts


def roll_drawing(plan: RollPlan, display: Display = "imperial") -> str:
    """Return a roll as SVG drawings, a row for each stretch, and a table of the pieces too small to label.

    Args:
        plan: the plan; its length is drawn across the paper. A turned piece carries ↻ after its name.
        display: how sizes are written.
    """
    if not plan.placed:
        return ""
    rows = _rows(plan)
    scale = _scale(max(length for _, length in rows), plan.roll_width)
    shapes = _numbered([_cloth_shape(cloth, display) for cloth in plan.placed])
    drawings, short = [], set[str]()
    for start, length in rows:
        frame = _Frame(start, length, plan.roll_width, scale)
        here = [(n, s) for n, s in shapes if s.along < start + length and s.along + s.length > start]
        drawing, missing = _svg(frame, here, display)
        drawings.append(drawing)
        short |= missing
    return "".join(drawings) + _legend(shapes, short)
