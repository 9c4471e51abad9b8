"""A drawing in the making, in mm on the paper: shapes, tapes, and text only where there is room for it.

Text is measured before it is placed. Widths are those of a wide sans serif face, so that text set in a
narrower one takes less than its box. Source: advance widths of DejaVu Sans 2.37 (table hmtx), rounded up to
1/100 em.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from html import escape
from typing import NamedTuple

from estimator.core.units import Display, Nm, format_length

Place = tuple[float, float]
ASCENT_EM, DESCENT_EM = 0.76, 0.24
"""Height of capitals, and of what hangs below the line. Source: glyph outlines of DejaVu Sans 2.37."""
WIDEST_EM = 1.43
"""Any character that is not listed. Source: widest advance of DejaVu Sans up to U+024F."""
_WIDTHS = {
    0.23: "′", 0.28: "'ijl", 0.30: "IJ", 0.32: " ,.·", 0.34: "/:;\\|", 0.36: "f", 0.37: "-", 0.38: "″",
    0.40: "()[]t", 0.41: "!²³", 0.42: "r", 0.46: '"', 0.50: "*_`°–", 0.53: "sz", 0.54: "?", 0.55: "c",
    0.56: "L", 0.58: "Fk", 0.60: "vxy", 0.61: "P", 0.62: "TYaeo", 0.64: "$0123456789ESbdghnpqu{}", 0.66: "K",
    0.69: "ABVXZ", 0.70: "CR", 0.74: "U", 0.75: "N", 0.76: "H", 0.78: "&DG", 0.79: "OQ", 0.82: "w",
    0.84: "#+<=>^~×≥±", 0.87: "M", 0.96: "%", 0.97: "½¼¾", 0.98: "m", 0.99: "W", 1.00: "@",
}  # fmt: skip
_EM = {letter: width for width, letters in _WIDTHS.items() for letter in letters}


class PaperBox(NamedTuple):
    """A rectangle on the paper, mm, y downwards."""

    x: float
    y: float
    width: float
    height: float

    def overlaps(self, other: "PaperBox") -> bool:
        """Return whether the two have area in common."""
        return (
            self.x < other.x + other.width
            and other.x < self.x + self.width
            and self.y < other.y + other.height
            and other.y < self.y + self.height
        )

    def within(self, other: "PaperBox") -> bool:
        """Return whether nothing of this sticks out of the other."""
        return (
            other.x <= self.x
            and other.y <= self.y
            and self.x + self.width <= other.x + other.width
            and self.y + self.height <= other.y + other.height
        )

    def grown(self, by: float) -> "PaperBox":
        """Return the rectangle with each side moved outwards."""
        return PaperBox(self.x - by, self.y - by, self.width + 2 * by, self.height + 2 * by)

    @property
    def middle(self) -> Place:
        """Return the middle."""
        return self.x + self.width / 2, self.y + self.height / 2


def text_width(text: str, size: float) -> float:
    """Return how wide a text is at most, in the unit of `size`.

    Args:
        text: one line.
        size: of the letters (one em).
    """
    return size * sum(_EM.get(letter, WIDEST_EM) for letter in text)


def spread(wanted: Sequence[float], gap: float, low: float, high: float) -> list[float]:
    """Return places in the order wanted, each at least `gap` from the next, moved as little as can be.

    They stay between `low` and `high` as long as there is room for all of them; if there is not, they run on
    beyond `high`.

    Source: isotonic regression by pooling adjacent violators (Barlow and others 1972, from memory).

    Args:
        wanted: in rising order.
        gap: least distance.
        low: least place.
        high: greatest place.
    """
    pools: list[tuple[float, int]] = []
    for number, want in enumerate(wanted):
        pools.append((want - number * gap, 1))
        while len(pools) > 1 and pools[-2][0] > pools[-1][0]:
            (last, many), (before, others) = pools.pop(), pools.pop()
            pools.append(((last * many + before * others) / (many + others), many + others))
    top = max(low, high - (len(wanted) - 1) * gap)
    level = [min(max(value, low), top) for value, count in pools for _ in range(count)]
    return [value + number * gap for number, value in enumerate(level)]


PAPER_MM = 182.0
"""Width of a drawing: what A4 and Letter leave between their margins."""
TEXT, SMALL, TINY = 3.0, 2.5, 2.1
"""Sizes of lettering, mm: 2.1 mm is 6 point."""
_LINE = 1.2
_CLEAR = 0.25
FACE = "'DejaVu Sans', Verdana, sans-serif"
STYLES = {
    "wall": 'fill="#fff" stroke="#000" stroke-width=".5"',
    "corner": 'fill="none" stroke="#000" stroke-width="1"',
    "floor": 'stroke="#000" stroke-width="1"',
    "frame": 'fill="#e9e9e9" stroke="#000" stroke-width=".35"',
    "cloth": 'fill="#d6d6d6" stroke="#000" stroke-width=".35"',
    "cloth2": 'fill="#bdbdbd" stroke="#000" stroke-width=".35"',
    "cloth3": 'fill="#f0f0f0" stroke="#000" stroke-width=".35"',
    "member": 'fill="#fff" stroke="#000" stroke-width=".25"',
    "board": 'fill="#dcdcdc" stroke="#555" stroke-width=".2"',
    "building": 'fill="#999" stroke="#000" stroke-width=".25"',
    "opening": 'fill="#fff" stroke="#000" stroke-width=".3"',
    "trim": 'fill="none" stroke="#444" stroke-width=".2"',
    "bulkhead": 'fill="#f6f6f6" stroke="#000" stroke-width=".3" stroke-dasharray="2 .8"',
    "casing": 'fill="#555" stroke="#000" stroke-width=".15"',
    "cover": 'fill="#fff" stroke="#000" stroke-width=".2"',
    "stud": 'fill="none" stroke="#666" stroke-width=".18" stroke-dasharray="1.2 .8"',
    "joint": 'stroke="#333" stroke-width=".2" stroke-dasharray=".4 .7"',
    "seam": 'fill="none" stroke="#000" stroke-width=".3" stroke-dasharray="3 .7 .5 .7"',
    "level": 'stroke="#000" stroke-width=".35" stroke-dasharray="5 1.2 1 1.2"',
    "thin": 'fill="none" stroke="#000" stroke-width=".15"',
    "saw": 'stroke="#fff" stroke-width=".35"',
    "leader": 'fill="none" stroke="#666" stroke-width=".12"',
    "solid": 'fill="#000" stroke="#000" stroke-width=".15"',
    "hollow": 'fill="#fff" stroke="#000" stroke-width=".3"',
    "stock": 'fill="#fff" stroke="#000" stroke-width=".5"',
    "piece": 'fill="#e4e4e4" stroke="#000" stroke-width=".25"',
    "waste": 'fill="#fff" stroke="#555" stroke-width=".2" stroke-dasharray="1.2 .8"',
    "end": 'fill="#777" stroke="#000" stroke-width=".25"',
    "dash": 'fill="none" stroke="#000" stroke-width=".25" stroke-dasharray="1.6 1"',
}
"""What each kind of line and surface looks like; told apart by tone and dash, never by colour alone."""


class Canvas:
    """Collects shapes and places text.

    Args:
        width: of the drawing, mm.
        height: of the drawing, mm.
    """

    def __init__(self, width: float, height: float) -> None:
        self.paper = PaperBox(0, 0, width, height)
        self.texts: list[PaperBox] = []
        self.marks: list[PaperBox] = []
        self._shapes: list[str] = []
        self._letters: list[str] = []

    def rect(self, box: PaperBox, style: str) -> None:
        """Draw a rectangle."""
        self._shapes.append(_rect(box, f" {STYLES[style]}"))

    def line(self, start: Place, end: Place, style: str) -> None:
        """Draw a straight line."""
        ends = f'x1="{start[0]:.2f}" y1="{start[1]:.2f}" x2="{end[0]:.2f}" y2="{end[1]:.2f}"'
        self._shapes.append(f"<line {ends} {STYLES[style]}/>")

    def path(self, points: Sequence[Place], style: str, *, closed: bool = False) -> None:
        """Draw a line through points, or the surface inside them."""
        listed = " ".join(f"{x:.2f},{y:.2f}" for x, y in points)
        self._shapes.append(f'<{"polygon" if closed else "polyline"} points="{listed}" {STYLES[style]}/>')

    def dot(self, middle: Place, radius: float, style: str) -> None:
        """Draw a circle."""
        self._shapes.append(
            f'<circle cx="{middle[0]:.2f}" cy="{middle[1]:.2f}" r="{radius:.2f}" {STYLES[style]}/>'
        )

    def write(
        self,
        lines: Sequence[str],
        middle: Place,
        size: float = SMALL,
        *,
        upright: bool = False,
        room: PaperBox | None = None,
    ) -> bool:
        """Write lines about a point if there is room, upright ones reading from below.

        Args:
            lines: of text, from the top.
            middle: where the middle of the block comes to lie.
            size: of the letters, mm.
            upright: turned a quarter to the left.
            room: what the text may not leave; the whole drawing where it is left out.

        Returns:
            Whether it was written: it is not where it would stand over other text or leave its room.
        """
        boxes = list(_boxes(lines, middle, size, upright=upright))
        if not all(b.within(self.paper) and (room is None or b.within(room)) for b in boxes):
            return False
        if any(b.grown(_CLEAR).overlaps(other) for b in boxes for other in self.texts):
            return False
        self.texts += boxes
        self._letters += [
            _text(line, box, size, upright=upright) for line, box in zip(lines, boxes, strict=True)
        ]
        return True

    def label(
        self,
        choices: Sequence[Sequence[str]],
        places: Sequence[Place],
        *,
        room: PaperBox | None = None,
        sizes: Sequence[float] = (TEXT, SMALL, TINY),
        turn: bool = True,
    ) -> bool:
        """Write the first of several wordings at the first place and in the largest size that fits.

        Places clear of `marks` go before those that are not, then longer wordings, then level text.

        Returns:
            Whether one was written.
        """
        return any(
            (not clear or self._clear(lines, place, size, upright=upright))
            and self.write(lines, place, size, upright=upright, room=room)
            for clear in ((True, False) if self.marks else (False,))
            for lines in choices
            for upright in ((False, True) if turn else (False,))
            for size in sizes
            for place in places
        )

    def _clear(self, lines: Sequence[str], place: Place, size: float, *, upright: bool) -> bool:
        """Return whether no mark that text should keep off lies under the block."""
        boxes = list(_boxes(lines, place, size, upright=upright))
        return not any(box.overlaps(mark) for box in boxes for mark in self.marks)

    def svg(self, alt: str) -> str:
        """Return the drawing as an SVG element with a text for those who do not see it."""
        name = escape(alt)
        _, _, width, height = self.paper
        head = (
            f'<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-label="{name}" '
            f'viewBox="0 0 {width:.1f} {height:.1f}" width="{width:.1f}mm" height="{height:.1f}mm">'
        )
        grounds = "".join(map(_rect, self.texts))
        behind = f'<g fill="#fff" fill-opacity="{_COVER}">{grounds}</g>'
        letters = f'<g font-family="{FACE}" text-anchor="middle" fill="#000">{"".join(self._letters)}</g>'
        return f"{head}<title>{name}</title>{''.join(self._shapes)}{behind}{letters}</svg>"


_COVER = 0.7
"""How much of what lies under a text is covered by white."""


def _rect(box: PaperBox, looks: str = "") -> str:
    x, y, width, height = box
    return f'<rect x="{x:.2f}" y="{y:.2f}" width="{width:.2f}" height="{height:.2f}"{looks}/>'


def _boxes(lines: Sequence[str], middle: Place, size: float, *, upright: bool) -> Iterator[PaperBox]:
    """Yield the box of each line of a block about its middle."""
    step, tall = size * _LINE, size * (ASCENT_EM + DESCENT_EM)
    for number, line in enumerate(lines):
        off = (number - (len(lines) - 1) / 2) * step
        wide = text_width(line, size)
        if upright:
            yield PaperBox(middle[0] + off - tall / 2, middle[1] - wide / 2, tall, wide)
        else:
            yield PaperBox(middle[0] - wide / 2, middle[1] + off - tall / 2, wide, tall)


def _text(line: str, box: PaperBox, size: float, *, upright: bool) -> str:
    x, y = box.middle
    sink = (ASCENT_EM - DESCENT_EM) / 2 * size
    if upright:
        turned = f' transform="rotate(-90 {x + sink:.2f} {y:.2f})"'
        return f'<text x="{x + sink:.2f}" y="{y:.2f}" font-size="{size:g}"{turned}>{escape(line)}</text>'
    return f'<text x="{x:.2f}" y="{y + sink:.2f}" font-size="{size:g}">{escape(line)}</text>'


_ARM = 4.0
"""From the tick on a tape to its reading, mm: room for the leader's knee."""
_GAP = 0.7


@dataclass(frozen=True, slots=True)
class View:
    """A view: where its origin lies on the paper, and how many mm one nm takes; z upwards."""

    left: float
    foot: float
    mm_per_nm: float

    def at(self, x: Nm, z: Nm) -> Place:
        """Return where a point lies on the paper."""
        return self.left + x * self.mm_per_nm, self.foot - z * self.mm_per_nm

    def box(self, x: Nm, z: Nm, width: Nm, height: Nm) -> PaperBox:
        """Return where a rectangle with its lower-left corner at (x, z) lies on the paper."""
        left, top = self.at(x, z + height)
        return PaperBox(left, top, width * self.mm_per_nm, height * self.mm_per_nm)


def fitted(width: Nm, height: Nm, room: PaperBox) -> View:
    """Return the view in which a surface is as large as the room on the paper allows, at its left and top."""
    scale = min(room.width / width, room.height / height)
    return View(room.x, room.y + height * scale, scale)


def readings(values: Iterable[Nm], display: Display) -> list[tuple[Nm, str]]:
    """Return values in rising order with what a tape reads there; one for each reading."""
    found: dict[str, Nm] = {}
    for value in sorted(values):
        found.setdefault(format_length(value, display), value)
    return [(value, text) for text, value in found.items()]


def tape(canvas: Canvas, view: View, marks: Sequence[tuple[Nm, str]], edge: float, *, below: bool) -> None:
    """Draw a tape below the view, or left of it, at `edge`: an upright or a level reading at every mark."""

    def at(along: float, off: float) -> Place:
        return (along, edge + off) if below else (edge - off, along)

    span = canvas.paper.width if below else canvas.paper.height
    ticks = [view.at(value, value)[not below] for value, _ in marks]
    letters, gap = _dense(len(marks), span - 2 * SMALL)
    places = spread(sorted(ticks), gap, SMALL, span - SMALL)[:: 1 if below else -1]
    canvas.line(at(ticks[0], 0), at(ticks[-1], 0), "thin")
    for tick, place, (_, text) in zip(ticks, places, marks, strict=True):
        canvas.path([at(tick, -1), at(tick, 1), at(place, _ARM - 0.4)], "leader")
        canvas.write([text], at(place, _ARM + text_width(text, letters) / 2), letters, upright=below)


def _dense(count: int, room: float) -> tuple[float, float]:
    """Return the size of readings and their distance: smaller where many share a tape."""
    letters = SMALL if count * (SMALL + _GAP) <= room else TINY
    return letters, letters + _GAP


def tape_depth(marks: Sequence[tuple[Nm, str]]) -> float:
    """Return how much paper a tape needs beside the view, mm."""
    return _ARM + max((text_width(text, SMALL) for _, text in marks), default=0) + 1.5
