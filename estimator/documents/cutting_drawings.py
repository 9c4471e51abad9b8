"""Drawings of cutting plans, to scale: sticks as bars, sheets and rolls from above; readable in grey.

The long side lies across the paper. A piece too small for its name and size carries a number, and a line
below the drawing gives the rest; no text stands over another.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from html import escape
from itertools import groupby

from estimator.core.units import Display, Nm, format_length, size_text
from estimator.cutting.plans import CutSheet, PlacedCloth, RollPlan, Stick, StickPlan
from estimator.documents.canvas import Canvas, PaperBox

PAPER_MM = 180.0
"""Width of the longest drawing: what A4 and Letter leave between their margins."""
_BAR_MM = 9.0
_BAR_EDGE_MM = 0.5
_BAR_TEXTS_MM = (2.8, 2.3)
_HIGHEST_MM = 110.0
_EDGE_MM = 6.0
_EDGE_TEXT_MM = 4.0
_TEXTS_MM = (4.5, 4.0, 3.5, 3.0, 2.3)
"""Heights of letters tried, the largest first: a drawing may be printed at two thirds of its size."""
_CLEAR_MM, _CLEAR_EM = 0.3, 0.125
"""What is kept free of letters along the edges of a part; a number may come nearer than lines of text."""
_ROW_LENGTH = 4
"""A roll is drawn in rows no longer than this many of its widths."""


@dataclass(frozen=True, slots=True)
class _Part:
    """Something cut or left: where it lies along and across the stock, and what is said of it.

    Attributes:
        place: where it lies, in words; '' where the drawing shows it well enough.
    """

    along: Nm
    across: Nm
    length: Nm
    breadth: Nm
    name: str
    size: str
    place: str = ""
    waste: bool = False


_Numbered = tuple[int, _Part]


def _draw(
    canvas: Canvas, box: PaperBox, number: int, part: _Part, sizes: Sequence[float], *, turn: bool
) -> bool:
    """Draw a part with its name and size, or a piece with its number; return whether all is said."""
    name, size, waste = part.name, part.size, part.waste
    canvas.rect(box, "waste" if waste else "piece")
    whole, short = [[name, size], [f"{name} {size}"]], [[size if waste else str(number)]]
    for words, clear_em, all_said in ((whole, _CLEAR_EM, True), (short, 0.0, waste)):
        for letters in sizes:
            room = box.grown(-_CLEAR_MM - clear_em * letters)
            if canvas.label(words, [box.middle], room=room, sizes=[letters], turn=turn):
                return all_said
    return waste


def _legend(short: Iterable[_Numbered], lead: str = "") -> str:
    """Return the pieces that carry only a number, those that follow each other and are alike together."""
    entries = []
    for (name, size, place), same in groupby(short, key=lambda one: (one[1].name, one[1].size, one[1].place)):
        numbers = [number for number, _ in same]
        which = f"{numbers[0]}" if len(numbers) == 1 else f"{numbers[0]} to {numbers[-1]}"
        where = f" at {place}" if place else ""
        entries.append(f"<b>{which}</b> {escape(name)} {escape(size + where)}")
    return f'<p class="legend">{lead}{"; ".join(entries)}</p>' if entries else ""


def heading(stick: Stick, count: int, display: Display) -> str:
    """Return what stands over a bar: how many, of what, and what is left over."""
    stock = stick.stock
    length = format_length(stock.length, display)
    of = length if stock.key == length else f"{stock.key} ({length})"
    return f"{count} × {of}: {left_over(stick, display)}"


def left_over(stick: Stick, display: Display) -> str:
    """Return what is left over of a stick, in words."""
    return f"{format_length(stick.offcut, display) if stick.offcut else 'nothing'} left over"


def bars(plan: StickPlan, display: Display = "imperial") -> list[tuple[str, str]]:
    """Return heading and drawing of every group of sticks cut alike, in the plan's order."""
    found = []
    for stick, same in groupby(plan.sticks):
        over = heading(stick, len(list(same)), display)
        found.append((over, bar(stick, plan, display, over)))
    return found


def bar(stick: Stick, plan: StickPlan, display: Display, alt: str) -> str:
    """Return the drawing of one stick to the scale of its plan's longest, told in words by `alt`."""
    scale = (PAPER_MM - 2 * _BAR_EDGE_MM) / max(s.stock.length for s in plan.sticks)

    def box(start: Nm, length: Nm) -> PaperBox:
        return PaperBox(_BAR_EDGE_MM + start * scale, _BAR_EDGE_MM, length * scale, _BAR_MM)

    whole = box(0, stick.stock.length)
    canvas = Canvas(whole.width + 2 * _BAR_EDGE_MM, _BAR_MM + 2 * _BAR_EDGE_MM)
    canvas.rect(whole, "stock")
    if plan.end_trim:
        canvas.rect(box(0, plan.end_trim), "end")
    short = []
    for number, part in enumerate(_along_stick(stick, plan, display), 1):
        if not _draw(canvas, box(part.along, part.length), number, part, _BAR_TEXTS_MM, turn=False):
            short.append((number, part))
    return canvas.svg(alt) + _legend(short)


def _along_stick(stick: Stick, plan: StickPlan, display: Display) -> Iterator[_Part]:
    at = plan.end_trim
    for piece in stick.pieces:
        yield _Part(at, 0, piece.length, 0, piece.name, format_length(piece.length, display))
        at += piece.length + plan.kerf
    if stick.offcut:
        start, size = stick.stock.length - stick.offcut, format_length(stick.offcut, display)
        yield _Part(start, 0, stick.offcut, 0, "left", size, waste=True)


def _flat(
    parts: Iterable[_Part], rows: Sequence[tuple[Nm, Nm]], breadth: Nm, display: Display, alt: str
) -> str:
    """Return a drawing of each stretch (start, length) of flat stock, and the legend of all of them."""
    longest = max(length for _, length in rows)
    scale = min((PAPER_MM - 2 * _EDGE_MM) / longest, (_HIGHEST_MM - 2 * _EDGE_MM) / breadth)
    numbered = list(enumerate(sorted(parts, key=lambda p: (p.waste, p.along, p.across)), 1))
    drawings, short = [], dict[int, _Part]()
    for start, length in rows:
        canvas = _stock(length, breadth, scale, display)
        for number, p in numbered:
            first, last = max(p.along, start), min(p.along + p.length, start + length)
            if first < last:
                left, top = (first - start) * scale, (breadth - p.across - p.breadth) * scale
                box = PaperBox(_EDGE_MM + left, _EDGE_MM + top, (last - first) * scale, p.breadth * scale)
                if not _draw(canvas, box, number, p, _TEXTS_MM, turn=True):
                    short[number] = p
        drawings.append(canvas.svg(alt))
    return "".join(drawings) + _legend(short.items(), "From the lower left corner: ")


def _stock(length: Nm, breadth: Nm, scale: float, display: Display) -> Canvas:
    """Return a drawing that holds the outline of the stock with its length and breadth."""
    across, up = length * scale, breadth * scale
    canvas = Canvas(across + 2 * _EDGE_MM, up + 2 * _EDGE_MM)
    canvas.rect(PaperBox(_EDGE_MM, _EDGE_MM, across, up), "stock")
    over, beside = (_EDGE_MM + across / 2, _EDGE_MM / 2), (_EDGE_MM / 2, _EDGE_MM + up / 2)
    canvas.write([format_length(length, display)], over, _EDGE_TEXT_MM)
    canvas.write([format_length(breadth, display)], beside, _EDGE_TEXT_MM, upright=True)
    return canvas


def sheet_drawing(sheet: CutSheet, display: Display = "imperial", name: str = "Sheet") -> str:
    """Return one cut sheet as an SVG drawing, followed by a line on the pieces too small to be labelled.

    Args:
        sheet: the sheet; its longer side is drawn across the paper.
        display: how sizes are written.
        name: what the sheet is called to those who do not see the drawing.
    """
    stock, upright = sheet.stock, sheet.stock.height > sheet.stock.width

    def part(x: Nm, y: Nm, width: Nm, height: Nm, name: str, *, waste: bool = False) -> _Part:
        lie = (y, x, height, width) if upright else (x, y, width, height)
        place = f"{format_length(x, display)}, {format_length(y, display)}"
        return _Part(*lie, name, size_text(width, height, display), place, waste)

    parts = [part(s.x, s.y, s.width, s.height, s.piece.name) for s in sheet.placed]
    parts += [part(r.x, r.y, r.width, r.height, "offcut", waste=True) for r in sheet.offcuts]
    breadth, length = sorted((stock.width, stock.height))
    pieces = ", ".join(p.piece.name for p in sheet.placed)
    alt = f"{name}, {size_text(stock.width, stock.height, display)}, cut into {pieces}"
    return _flat(parts, [(0, length)], breadth, display, alt)


def roll_drawing(plan: RollPlan, display: Display = "imperial", name: str = "the roll") -> str:
    """Return a roll as SVG drawings, a row for each stretch, and a line on the pieces too small to label.

    Args:
        plan: the plan; its length is drawn across the paper. A turned piece carries ↻ after its name.
        display: how sizes are written.
        name: what the roll is called to those who do not see the drawing.
    """
    if not plan.placed:
        return ""
    parts = [_cloth(cloth, display) for cloth in plan.placed]
    return _flat(parts, _rows(plan), plan.roll_width, display, f"Cutting plan of {name}")


def _cloth(cloth: PlacedCloth, display: Display) -> _Part:
    place = f"{format_length(cloth.x, display)}, {format_length(cloth.y, display)}"
    name = f"{cloth.name} ↻" if cloth.turned else cloth.name
    size = size_text(cloth.width, cloth.length, display)
    return _Part(cloth.y, cloth.x, cloth.length, cloth.width, name, size, place)


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


_STYLE = """
body{font:10pt/1.35 sans-serif;color:#000;background:#fff;margin:12mm auto;max-width:186mm}
h1{font-size:15pt;margin:0 0 3mm} h2{font-size:11pt;margin:5mm 0 1.5mm}
section{break-inside:avoid} svg{display:block;max-width:100%;height:auto}
table{border-collapse:collapse;margin:1mm 0 3mm}
th,td{border:.2mm solid #777;padding:.4mm 1.6mm;text-align:left}
p.legend{font-size:8pt;margin:.6mm 0} th{font-weight:600}
@page{margin:12mm} @media print{body{margin:0}}
"""


def cutting_page(title: str, facts: Sequence[tuple[str, str]], drawings: Sequence[tuple[str, str]]) -> str:
    """Return a self-contained HTML page of drawn cutting plans that prints on A4 and Letter.

    Args:
        title: what it is.
        facts: name and value of each figure of the plan, shown as a table.
        drawings: heading and drawing of each stick, sheet or roll.
    """
    rows = "".join(f"<tr><th>{escape(name)}</th><td>{escape(value)}</td></tr>" for name, value in facts)
    sections = "".join(
        f"<section><h2>{escape(heading)}</h2>{drawing}</section>" for heading, drawing in drawings
    )
    return (
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
        f"<title>{escape(title)}</title><style>{_STYLE}</style></head>"
        f"<body><h1>{escape(title)}</h1><table>{rows}</table>{sections}</body></html>\n"
    )
