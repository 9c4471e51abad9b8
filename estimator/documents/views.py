"""From the building to the paper: a view to scale, and the tapes that run along two of its sides."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from estimator.core.units import Display, Nm, format_length
from estimator.documents.canvas import SMALL, TINY, Canvas
from estimator.documents.lettering import Box, spread, text_width

Place = tuple[float, float]
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

    def box(self, x: Nm, z: Nm, width: Nm, height: Nm) -> Box:
        """Return where a rectangle with its lower-left corner at (x, z) lies on the paper."""
        left, top = self.at(x, z + height)
        return Box(left, top, width * self.mm_per_nm, height * self.mm_per_nm)


def fitted(width: Nm, height: Nm, room: Box) -> View:
    """Return the view in which a surface is as large as the room on the paper allows, centred across it."""
    scale = min(room.width / width, room.height / height)
    return View(room.x + (room.width - width * scale) / 2, room.y + height * scale, scale)


def readings(values: Iterable[Nm], display: Display) -> list[tuple[Nm, str]]:
    """Return values in rising order with what a tape reads there; one for each reading."""
    found: dict[str, Nm] = {}
    for value in sorted(values):
        found.setdefault(format_length(value, display), value)
    return [(value, text) for text, value in found.items()]


def tape_below(
    canvas: Canvas, view: View, marks: Sequence[tuple[Nm, str]], foot: float, *, size: float = SMALL
) -> float:
    """Draw a tape under the view with an upright reading at every mark; return how deep it reaches, mm."""
    if not marks:
        return foot
    ends = (canvas.paper.x + size, canvas.paper.width - size)
    ticks = [view.at(value, 0)[0] for value, _ in marks]
    letters, gap = _dense(len(marks), ends[1] - ends[0], size)
    places = spread(ticks, gap, *ends)
    canvas.line((ticks[0], foot), (ticks[-1], foot), "thin")
    deepest = foot
    for tick, place, (_, text) in zip(ticks, places, marks, strict=True):
        long = text_width(text, letters)
        canvas.path([(tick, foot - 1), (tick, foot + 1), (place, foot + _ARM - 0.4)], "leader")
        canvas.write([text], (place, foot + _ARM + long / 2), letters, upright=True)
        deepest = max(deepest, foot + _ARM + long)
    return deepest


def tape_left(
    canvas: Canvas, view: View, marks: Sequence[tuple[Nm, str]], edge: float, *, size: float = SMALL
) -> None:
    """Draw a tape left of the view, at `edge`, with a reading at every height."""
    if not marks:
        return
    ticks = [view.at(0, value)[1] for value, _ in marks]
    span = (canvas.paper.y + size, canvas.paper.height - size)
    letters, gap = _dense(len(marks), span[1] - span[0], size)
    places = spread(list(reversed(ticks)), gap, *span)[::-1]
    canvas.line((edge, ticks[0]), (edge, ticks[-1]), "thin")
    for tick, place, (_, text) in zip(ticks, places, marks, strict=True):
        long = text_width(text, letters)
        canvas.path([(edge + 1, tick), (edge - 1, tick), (edge - _ARM + 0.4, place)], "leader")
        canvas.write([text], (edge - _ARM - long / 2, place), letters)


def _dense(count: int, room: float, size: float) -> tuple[float, float]:
    """Return the size of readings and their distance: smaller where many share a tape."""
    letters = size if count * (size + _GAP) <= room else TINY
    return letters, letters + _GAP


def tape_depth(marks: Sequence[tuple[Nm, str]], size: float = SMALL) -> float:
    """Return how much paper a tape needs beside the view, mm."""
    return _ARM + max((text_width(text, size) for _, text in marks), default=0) + 1.5
