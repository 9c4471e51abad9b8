"""Level sections through the edge of a frame, one a make-up: building, member, boards, cloth, casing."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from estimator.core.units import Display, Nm, format_length, size_text
from estimator.documents.canvas import PAPER_MM, SMALL, Canvas, PaperBox, View, spread, text_width
from estimator.job.description_pieces import Backing
from estimator.layout.records import Frame, Strip
from estimator.pipeline import Estimate

_TALL_MM = 62.0
_WIDE_MM = 70.0
_STUD_SHOWN_MM = 9.0
_CLOTH_MM = 0.9
_MOST_SCALE = 0.9e-6
"""Mm on the paper for one nm: nearly full size for thin frames."""


@dataclass(frozen=True, slots=True)
class SectionLayer:
    """Something the section passes: from `start` to `end` off the building's face, into the room."""

    name: str
    start: Nm
    end: Nm
    style: str


def make_up_sections(estimate: Estimate) -> list[tuple[str, str]]:
    """Return make-up and drawing for each make-up that is built, in the job's order."""
    chosen: dict[str, Frame] = {}
    for frame in estimate.scope.layout.frames:  # wall frames first
        chosen.setdefault(frame.make_up, frame)
    return [(name, section(frame, estimate)) for name, frame in chosen.items()]


def section(frame: Frame, estimate: Estimate) -> str:
    """Return the level section through the left edge of a frame as SVG, to scale, the room below."""
    scope, display = estimate.scope, estimate.units.display
    backing = next((t.backing for t in scope.job.walls if t.name == frame.host), None)
    casing = next((s for s in scope.layout.strips if s.frame == frame.name and s.kind == "casing"), None)
    usual = estimate.catalogue.practice.length("backing_gypsum_thickness")
    layers = list(_layers(frame, backing, usual))
    back = min(layer.start for layer in layers)
    deep = max(layer.end for layer in layers)
    scale = min(_MOST_SCALE, (_TALL_MM - 22) / (deep - back))
    view = View(30.0, 6.0 + _STUD_SHOWN_MM - back * scale, scale)
    canvas = Canvas(PAPER_MM, view.foot + deep * scale + 12)
    stud = _stud(canvas, view, backing, back)
    for layer in layers:
        left = frame.members[0].thickness if layer.style == "board" else 0
        canvas.rect(_across(view, layer, left), layer.style)
    _edge(canvas, view, frame, casing)
    texts = [*stud, *_words(layers, view, display), *_rest(frame, casing, view, display)]
    _labels(canvas, texts)
    what = "; ".join(text for _, text in texts)
    return canvas.svg(
        f"Level section through the edge of frame {frame.name}, make-up {frame.make_up}: {what}"
    )


def _layers(frame: Frame, backing: Backing | None, usual: Nm) -> Iterator[SectionLayer]:
    if backing and backing.kind == "gypsum":
        thick = backing.thickness or usual
        for n in range(backing.layers):
            yield SectionLayer("gypsum board", -(n + 1) * thick, -n * thick, "cover")
    cavity = frame.cavities[0] if frame.cavities else None
    at = cavity.gap if cavity else 0
    if cavity and cavity.gap:
        yield SectionLayer("air", 0, cavity.gap, "trim")
    if cavity and cavity.layers:
        thick = (frame.depth - cavity.gap) // cavity.layers
        for n in range(cavity.layers):
            yield SectionLayer("board", at + n * thick, at + (n + 1) * thick, "board")
    if not cavity or not cavity.layers:
        yield SectionLayer("open", 0, frame.depth, "trim")


def _across(view: View, layer: SectionLayer, left: Nm) -> PaperBox:
    start = view.left + left * view.mm_per_nm
    top = view.foot + layer.start * view.mm_per_nm
    if layer.style in {"cover", "building"}:
        start -= 12
    return PaperBox(start, top, view.left + _WIDE_MM - start, (layer.end - layer.start) * view.mm_per_nm)


def _stud(canvas: Canvas, view: View, backing: Backing | None, back: Nm) -> list[tuple[float, str]]:
    """Draw what is behind: a stud or masonry, nothing for pieces that stand or hang free."""
    if backing is None:
        return []
    top = view.foot + back * view.mm_per_nm - _STUD_SHOWN_MM
    masonry = backing.kind == "masonry"
    left, wide = (view.left - 12, _WIDE_MM + 12) if masonry else (view.left + 30, 16.0)
    canvas.rect(PaperBox(left, top, wide, _STUD_SHOWN_MM), "building")
    return [(top + _STUD_SHOWN_MM / 2, "masonry" if masonry else "stud of the building")]


def _edge(canvas: Canvas, view: View, frame: Frame, casing: Strip | None) -> None:
    """Draw the outer member, the cloth round it, and the casing or nothing beside it."""
    scale, member = view.mm_per_nm, frame.members[0]
    deep, top = frame.depth * scale, view.foot
    canvas.rect(PaperBox(view.left, top, member.thickness * scale, deep), "member")
    for part in (0.35, 0.65):
        canvas.line((view.left, top + deep * part), (view.left + member.thickness * scale, top + deep * part),
                    "leader")  # fmt: skip
    around = [
        (view.left + member.thickness * scale, top - _CLOTH_MM / 3), (view.left - _CLOTH_MM / 2, top),
        (view.left - _CLOTH_MM / 2, top + deep + _CLOTH_MM / 2),
        (view.left + _WIDE_MM, top + deep + _CLOTH_MM / 2),
    ]  # fmt: skip
    canvas.path(around, "seam")
    if casing:
        thick = casing.thickness * scale
        canvas.rect(PaperBox(view.left - _CLOTH_MM - thick, top, thick, casing.width * scale), "cover")
    canvas.line((view.left + _WIDE_MM, top - 3), (view.left + _WIDE_MM, top + deep + 4), "dash")


def _words(layers: Sequence[SectionLayer], view: View, display: Display) -> Iterator[tuple[float, str]]:
    for layer in layers:
        middle = view.foot + (layer.start + layer.end) / 2 * view.mm_per_nm
        yield middle, f"{layer.name}, {format_length(layer.end - layer.start, display)}"


def _rest(frame: Frame, casing: Strip | None, view: View, display: Display) -> Iterator[tuple[float, str]]:
    deep, member = frame.depth * view.mm_per_nm, frame.members[0]
    yield view.foot + deep + _CLOTH_MM / 2, "cloth, stretched, wrapped round the edge, stapled at the back"
    size, depth = size_text(member.thickness, member.depth, display), format_length(frame.depth, display)
    yield view.foot + deep + 4, f"member at the left, {size}; the frame is {depth} deep"
    if casing:
        size = size_text(casing.thickness, casing.width, display)
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
