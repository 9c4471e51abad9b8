"""Level sections through the edge of a frame, one a make-up: building, member, boards, cloth, casing."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from estimator.core.units import Display, Nm, format_length
from estimator.documents.canvas import PAPER_MM, SMALL, Canvas
from estimator.documents.lettering import Box, spread, text_width
from estimator.documents.views import View
from estimator.layout.records import Frame, Strip
from estimator.pipeline import Scope

_TALL_MM = 62.0
_WIDE_MM = 70.0
_STUD_SHOWN_MM = 9.0
_CLOTH_MM = 0.9
_MOST_SCALE = 0.9e-6
"""Mm on the paper for one nm: nearly full size for thin frames."""


@dataclass(frozen=True, slots=True)
class Layer:
    """Something the section passes: from `start` to `end` off the building's face, into the room."""

    name: str
    start: Nm
    end: Nm
    style: str


def make_up_sections(scope: Scope, usual: Nm, display: Display) -> list[tuple[str, str]]:
    """Return make-up and drawing for each make-up that is built, in the job's order.

    Args:
        scope: what is built.
        usual: thickness of the building's gypsum board where the job does not say.
        display: how lengths are written.
    """
    chosen: dict[str, Frame] = {}
    for frame in scope.layout.frames:  # wall frames first
        chosen.setdefault(frame.make_up, frame)
    return [(name, section(frame, scope, usual, display)) for name, frame in chosen.items()]


def section(frame: Frame, scope: Scope, usual: Nm, display: Display) -> str:
    """Return the level section through the left edge of a frame as SVG, to scale, the room below."""
    layers = list(_layers(frame, scope, usual))
    back = min(layer.start for layer in layers)
    deep = max(layer.end for layer in layers)
    scale = min(_MOST_SCALE, (_TALL_MM - 22) / (deep - back))
    view = View(30.0, 6.0 + _STUD_SHOWN_MM - back * scale, scale)
    canvas = Canvas(PAPER_MM, view.foot + deep * scale + 12)
    stud = _stud(canvas, view, frame, scope, back)
    for layer in layers:
        left = frame.members[0].thickness if layer.style == "board" else 0
        canvas.rect(_across(view, layer, left), layer.style)
    _edge(canvas, view, frame, scope)
    texts = [*stud, *_words(layers, view, display), *_rest(frame, scope, view, display)]
    _labels(canvas, texts)
    what = "; ".join(text for _, text in texts)
    return canvas.svg(
        f"Level section through the edge of frame {frame.name}, make-up {frame.make_up}: {what}"
    )


def _layers(frame: Frame, scope: Scope, usual: Nm) -> Iterator[Layer]:
    treatment = {t.name: t for t in scope.job.walls}.get(frame.host)
    if treatment and treatment.backing.kind == "gypsum":
        thick = treatment.backing.thickness or usual
        for n in range(treatment.backing.layers):
            yield Layer("gypsum board", -(n + 1) * thick, -n * thick, "cover")
    cavity = frame.cavities[0] if frame.cavities else None
    at = cavity.gap if cavity else 0
    if cavity and cavity.gap:
        yield Layer("air", 0, cavity.gap, "trim")
    if cavity and cavity.layers:
        thick = (frame.depth - cavity.gap) // cavity.layers
        for n in range(cavity.layers):
            yield Layer("board", at + n * thick, at + (n + 1) * thick, "board")
    if not cavity or not cavity.layers:
        yield Layer("open", 0, frame.depth, "trim")


def _across(view: View, layer: Layer, left: Nm) -> Box:
    start = view.left + left * view.mm_per_nm
    top = view.foot + layer.start * view.mm_per_nm
    if layer.style in {"cover", "building"}:
        start -= 12
    return Box(start, top, view.left + _WIDE_MM - start, (layer.end - layer.start) * view.mm_per_nm)


def _stud(canvas: Canvas, view: View, frame: Frame, scope: Scope, back: Nm) -> list[tuple[float, str]]:
    """Draw what is behind: a stud or masonry, nothing for pieces that stand or hang free."""
    treatment = {t.name: t for t in scope.job.walls}.get(frame.host)
    if treatment is None:
        return []
    top = view.foot + back * view.mm_per_nm - _STUD_SHOWN_MM
    masonry = treatment.backing.kind == "masonry"
    left, wide = (view.left - 12, _WIDE_MM + 12) if masonry else (view.left + 30, 16.0)
    canvas.rect(Box(left, top, wide, _STUD_SHOWN_MM), "building")
    return [(top + _STUD_SHOWN_MM / 2, "masonry" if masonry else "stud of the building")]


def _edge(canvas: Canvas, view: View, frame: Frame, scope: Scope) -> None:
    """Draw the outer member, the cloth round it, and the casing or nothing beside it."""
    scale, member = view.mm_per_nm, frame.members[0]
    deep, top = frame.depth * scale, view.foot
    canvas.rect(Box(view.left, top, member.thickness * scale, deep), "member")
    for part in (0.35, 0.65):
        canvas.line((view.left, top + deep * part), (view.left + member.thickness * scale, top + deep * part),
                    "leader")  # fmt: skip
    around = [
        (view.left + member.thickness * scale, top - _CLOTH_MM / 3), (view.left - _CLOTH_MM / 2, top),
        (view.left - _CLOTH_MM / 2, top + deep + _CLOTH_MM / 2),
        (view.left + _WIDE_MM, top + deep + _CLOTH_MM / 2),
    ]  # fmt: skip
    canvas.path(around, "seam")
    casing = _casing(frame, scope.layout.strips)
    if casing:
        thick = casing.thickness * scale
        canvas.rect(Box(view.left - _CLOTH_MM - thick, top, thick, casing.width * scale), "cover")
    canvas.line((view.left + _WIDE_MM, top - 3), (view.left + _WIDE_MM, top + deep + 4), "dash")


def _casing(frame: Frame, strips: Sequence[Strip]) -> Strip | None:
    return next((s for s in strips if s.frame == frame.name and s.kind == "casing"), None)


def _words(layers: Sequence[Layer], view: View, display: Display) -> Iterator[tuple[float, str]]:
    for layer in layers:
        middle = view.foot + (layer.start + layer.end) / 2 * view.mm_per_nm
        yield middle, f"{layer.name}, {format_length(layer.end - layer.start, display)}"


def _rest(frame: Frame, scope: Scope, view: View, display: Display) -> Iterator[tuple[float, str]]:
    deep, member = frame.depth * view.mm_per_nm, frame.members[0]
    yield view.foot + deep + _CLOTH_MM / 2, "cloth, stretched, wrapped round the edge, stapled at the back"
    size = f"{format_length(member.thickness, display)} × {format_length(member.depth, display)}"
    yield (
        view.foot + deep + 4,
        f"member at the left, {size}; the frame is {format_length(frame.depth, display)} deep",
    )
    casing = _casing(frame, scope.layout.strips)
    if casing:
        size = f"{format_length(casing.thickness, display)} × {format_length(casing.width, display)}"
        yield view.foot + deep + 7, f"casing beside it, {size}, sealed where it meets the building"


def _labels(canvas: Canvas, texts: Sequence[tuple[float, str]]) -> None:
    """Write the texts in a column at the right, each with a leader to what it names."""
    rows = sorted(texts)
    edge = 30.0 + _WIDE_MM
    places = spread([y for y, _ in rows], SMALL * 1.35, SMALL, canvas.paper.height - SMALL)
    for (y, text), place in zip(rows, places, strict=True):
        canvas.path([(edge - 2, y), (edge + 1, y), (edge + 5, place)], "leader")
        room = canvas.paper.width - edge - 7
        size = SMALL if text_width(text, SMALL) <= room else SMALL * room / text_width(text, SMALL)
        canvas.write([text], (edge + 6 + text_width(text, size) / 2, place), size)
