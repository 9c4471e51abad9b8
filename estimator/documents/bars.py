"""Drawings of cut sticks as inline SVG bars: to scale, every piece named, readable in grey.

A bar is as long on the paper as its stick is to the longest one. A piece too short for its name and length
carries a number, and a line below the bar gives the rest; no text stands over another.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html import escape
from itertools import groupby

from estimator.core.units import Display, Nm, format_length
from estimator.cutting.plans import Stick, StickPlan

PAPER_MM = 180.0
"""Width of the longest bar: what A4 and Letter leave between their margins."""
_BAR_MM = 9.0
_MARGIN_MM = 0.5
_TEXT_MM = 2.8
_SMALL_MM = 2.3
_LINE = 1.25
_GLYPH = 0.6
"""Width of a character for its height: wider than the mean of a sans serif face, so that text fits."""


@dataclass(frozen=True, slots=True)
class Alike:
    """Sticks cut alike, the same names in the same order: drawn once."""

    stick: Stick
    count: int


def alike(plan: StickPlan) -> list[Alike]:
    """Return the sticks of a plan, those that follow each other and are cut alike taken together."""
    return [Alike(stick, len(list(same))) for stick, same in groupby(plan.sticks)]


def heading(group: Alike, display: Display) -> str:
    """Return what stands over a bar: how many, of what, and what is left over."""
    stock = group.stick.stock
    length = format_length(stock.length, display)
    of = length if stock.key == length else f"{stock.key} ({length})"
    left = (
        f"{format_length(group.stick.offcut, display)} left over"
        if group.stick.offcut
        else "nothing left over"
    )
    return f"{group.count} × {of}: {left}"


@dataclass(frozen=True, slots=True)
class _Span:
    """A stretch of the bar, in mm from its left end."""

    start: float
    length: float
    name: str
    size: str
    style: str


def _spans(stick: Stick, plan: StickPlan, mm_per_nm: float, display: Display) -> Iterator[_Span]:
    at: Nm = 0
    if plan.end_trim:
        yield _Span(0.0, plan.end_trim * mm_per_nm, "", "", "trim")
        at = plan.end_trim
    for piece in stick.pieces:
        size = format_length(piece.length, display)
        yield _Span(at * mm_per_nm, piece.length * mm_per_nm, piece.name, size, "piece")
        at += piece.length + plan.kerf
    if stick.offcut:
        size = format_length(stick.offcut, display)
        start = (stick.stock.length - stick.offcut) * mm_per_nm
        yield _Span(start, stick.offcut * mm_per_nm, "left", size, "waste")


def _text(middle: float, baseline: float, text: str, height: float) -> str:
    return f'<text x="{middle:.2f}" y="{baseline:.2f}" font-size="{height:.2f}">{escape(text)}</text>'


def _lines(span: _Span, lines: Sequence[str]) -> str:
    """Return the lines centred in the span, '' where they do not fit."""
    for height in (_TEXT_MM, _SMALL_MM):
        if max(len(line) for line in lines) * _GLYPH * height < span.length - 0.8:
            middle = _MARGIN_MM + span.start + span.length / 2
            first = _MARGIN_MM + _BAR_MM / 2 + 0.35 * height - (len(lines) - 1) / 2 * _LINE * height
            return "".join(
                _text(middle, first + at * _LINE * height, line, height) for at, line in enumerate(lines)
            )
    return ""


def _span(span: _Span, number: str) -> tuple[str, bool]:
    """Return a stretch as SVG, and whether all there is to say is written on it."""
    rectangle = (
        f'<rect x="{_MARGIN_MM + span.start:.2f}" y="{_MARGIN_MM:.2f}" width="{span.length:.2f}" '
        f'height="{_BAR_MM:.2f}" class="{span.style}"/>'
    )
    if span.style == "trim":
        return rectangle, True
    if whole := _lines(span, [span.name, span.size]):
        return rectangle + whole, True
    short = _lines(span, [span.size if span.style == "waste" else number])
    return rectangle + short, span.style == "waste"


def _bar(stick: Stick, plan: StickPlan, mm_per_nm: float, display: Display) -> str:
    number, parts, short = 0, [], []
    for span in _spans(stick, plan, mm_per_nm, display):
        number += span.style == "piece"
        drawn, full = _span(span, str(number))
        parts.append(drawn)
        if not full:
            short.append((number, span))
    length = stick.stock.length * mm_per_nm
    outline = (
        f'<rect x="{_MARGIN_MM}" y="{_MARGIN_MM}" width="{length:.2f}" height="{_BAR_MM}" class="stock"/>'
    )
    width, height = length + 2 * _MARGIN_MM, _BAR_MM + 2 * _MARGIN_MM
    view = f'viewBox="0 0 {width:.2f} {height:.2f}" width="{width:.2f}mm" height="{height:.2f}mm"'
    drawing = f'<svg xmlns="http://www.w3.org/2000/svg" role="img" {view}>{outline}{"".join(parts)}</svg>'
    return drawing + _legend(short)


def _legend(short: Sequence[tuple[int, _Span]]) -> str:
    """Return the pieces that carry only a number, those that follow each other and are alike together."""
    if not short:
        return ""
    entries = []
    for (name, size), same in groupby(short, key=lambda entry: (entry[1].name, entry[1].size)):
        numbers = [number for number, _ in same]
        which = f"{numbers[0]}" if len(numbers) == 1 else f"{numbers[0]} to {numbers[-1]}"
        entries.append(f"<b>{which}</b> {escape(name)} {escape(size)}")
    return f'<p class="legend">{"; ".join(entries)}</p>'


def bars(plan: StickPlan, display: Display = "imperial") -> list[tuple[str, str]]:
    """Return heading and drawing of every group of sticks cut alike, in the plan's order.

    The drawing's classes are those of `cutting_page`: stock, piece, waste and trim.
    """
    return [(heading(group, display), bar(group.stick, plan, display)) for group in alike(plan)]


def bar(stick: Stick, plan: StickPlan, display: Display) -> str:
    """Return the drawing of one stick of a plan, to the scale of the plan's longest."""
    scale = (PAPER_MM - 2 * _MARGIN_MM) / max(s.stock.length for s in plan.sticks)
    return _bar(stick, plan, scale, display)
