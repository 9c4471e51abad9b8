"""A drawing in the making: shapes in mm on the paper, text only where there is room for it."""

from collections.abc import Iterator, Sequence
from html import escape

from estimator.documents.lettering import ASCENT_EM, DESCENT_EM, Box, text_width

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
        self.paper = Box(0, 0, width, height)
        self.texts: list[Box] = []
        self.marks: list[Box] = []
        self._shapes: list[str] = []
        self._letters: list[str] = []

    def rect(self, box: Box, style: str) -> None:
        """Draw a rectangle."""
        x, y, width, height = box
        self._shapes.append(
            f'<rect x="{x:.2f}" y="{y:.2f}" width="{width:.2f}" height="{height:.2f}" {STYLES[style]}/>'
        )

    def line(self, start: tuple[float, float], end: tuple[float, float], style: str) -> None:
        """Draw a straight line."""
        ends = f'x1="{start[0]:.2f}" y1="{start[1]:.2f}" x2="{end[0]:.2f}" y2="{end[1]:.2f}"'
        self._shapes.append(f"<line {ends} {STYLES[style]}/>")

    def path(self, points: Sequence[tuple[float, float]], style: str, *, closed: bool = False) -> None:
        """Draw a line through points, or the surface inside them."""
        listed = " ".join(f"{x:.2f},{y:.2f}" for x, y in points)
        self._shapes.append(f'<{"polygon" if closed else "polyline"} points="{listed}" {STYLES[style]}/>')

    def dot(self, middle: tuple[float, float], radius: float, style: str) -> None:
        """Draw a circle."""
        self._shapes.append(
            f'<circle cx="{middle[0]:.2f}" cy="{middle[1]:.2f}" r="{radius:.2f}" {STYLES[style]}/>'
        )

    def write(
        self,
        lines: Sequence[str],
        middle: tuple[float, float],
        size: float = SMALL,
        *,
        upright: bool = False,
        room: Box | None = None,
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
        grown = [Box(b.x - _CLEAR, b.y - _CLEAR, b.width + 2 * _CLEAR, b.height + 2 * _CLEAR) for b in boxes]
        if not all(b.within(self.paper) and (room is None or b.within(room)) for b in boxes):
            return False
        if any(b.overlaps(other) for b in grown for other in self.texts):
            return False
        self.texts += boxes
        self._letters += [
            _text(line, box, size, upright=upright) for line, box in zip(lines, boxes, strict=True)
        ]
        return True

    def label(
        self,
        choices: Sequence[Sequence[str]],
        places: Sequence[tuple[float, float]],
        *,
        room: Box | None = None,
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

    def _clear(self, lines: Sequence[str], place: tuple[float, float], size: float, *, upright: bool) -> bool:
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
        grounds = "".join(_ground(box) for box in self.texts)
        behind = f'<g fill="#fff" fill-opacity="{_COVER}">{grounds}</g>'
        letters = f'<g font-family="{FACE}" text-anchor="middle" fill="#000">{"".join(self._letters)}</g>'
        return f"{head}<title>{name}</title>{''.join(self._shapes)}{behind}{letters}</svg>"


_COVER = 0.7
"""How much of what lies under a text is covered by white."""


def _ground(box: Box) -> str:
    x, y, width, height = box
    return f'<rect x="{x:.2f}" y="{y:.2f}" width="{width:.2f}" height="{height:.2f}"/>'


def _boxes(lines: Sequence[str], middle: tuple[float, float], size: float, *, upright: bool) -> Iterator[Box]:
    """Yield the box of each line of a block about its middle."""
    step, tall = size * _LINE, size * (ASCENT_EM + DESCENT_EM)
    for number, line in enumerate(lines):
        off = (number - (len(lines) - 1) / 2) * step
        wide = text_width(line, size)
        if upright:
            yield Box(middle[0] + off - tall / 2, middle[1] - wide / 2, tall, wide)
        else:
            yield Box(middle[0] - wide / 2, middle[1] + off - tall / 2, wide, tall)


def _text(line: str, box: Box, size: float, *, upright: bool) -> str:
    x, y = box.middle
    sink = (ASCENT_EM - DESCENT_EM) / 2 * size
    if upright:
        turned = f' transform="rotate(-90 {x + sink:.2f} {y:.2f})"'
        return f'<text x="{x + sink:.2f}" y="{y:.2f}" font-size="{size:g}"{turned}>{escape(line)}</text>'
    return f'<text x="{x:.2f}" y="{y + sink:.2f}" font-size="{size:g}">{escape(line)}</text>'
