"""Bars of sticks: to scale, everything named once, no text over another or beyond its piece."""

import re
from decimal import Decimal
from itertools import pairwise

from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.core.units import INCH, MM
from estimator.cutting.plans import Stick, StickPiece, StickPlan, StickStock
from estimator.documents.canvas import STYLES, text_width
from estimator.documents.cutting_drawings import PAPER_MM, bars

LOOKS = {STYLES[kind]: kind for kind in ("stock", "piece", "waste", "end")}
RECTANGLE = re.compile(r'<rect x="([\d.]+)" y="[\d.]+" width="([\d.]+)" height="[\d.]+" (fill[^/]*)/>')
TEXT = re.compile(r'<text x="([\d.]+)" y="([\d.]+)" font-size="([\d.]+)">([^<]*)</text>')


def rectangles(drawing: str) -> list[tuple[str, str, str]]:
    return [(x, width, LOOKS[looks]) for x, width, looks in RECTANGLE.findall(drawing)]


def plan_of(*sticks: Stick, kerf: int = 3 * MM, trim: int = 0) -> StickPlan:
    return StickPlan(sticks, kerf, trim, Decimal(1), Decimal(1), proven=True, patterns=1, method="by hand")


def stick_of(sizes: list[int], length: int = 2400 * MM, trim: int = 0) -> Stick:
    pieces = tuple(StickPiece(f"N{at}/rail", size) for at, size in enumerate(sizes))
    left = length - trim - sum(size + 3 * MM for size in sizes)
    return Stick(StickStock("s", length, Decimal(1)), pieces, max(0, left))


@settings(max_examples=80, deadline=None)
@given(st.lists(st.integers(10 * MM, 700 * MM), min_size=1, max_size=3), st.sampled_from([0, 10 * MM]))
def test_no_text_leaves_its_piece_and_every_piece_is_named(sizes: list[int], trim: int) -> None:
    stick = stick_of(sizes, trim=trim)
    ((_, drawing),) = bars(plan_of(stick, trim=trim), "metric")
    spans = [(float(x), float(x) + float(w)) for x, w, kind in rectangles(drawing) if kind != "stock"]
    assert all(one[1] <= other[0] + 0.02 for one, other in pairwise(spans))
    for x, _, height, text in TEXT.findall(drawing):
        middle, half = float(x), text_width(text, float(height)) / 2
        assert any(start <= middle - half and middle + half <= end for start, end in spans), text
    for piece in stick.pieces:
        assert drawing.count(piece.name) == 1, "on the bar or below it"


def test_a_piece_too_small_for_its_name_carries_the_number_of_the_line_below() -> None:
    stick = stick_of([700 * MM, *[50 * MM] * 11])
    ((_, drawing),) = bars(plan_of(stick), "metric")
    assert {f"{number}" for number in range(2, 13)} <= {text for *_, text in TEXT.findall(drawing)}
    legend = drawing.partition("</svg>")[2]
    assert all(f"<b>{number}</b> N{number - 1}/rail 50 mm" in legend for number in range(2, 13))


def test_lengths_are_to_scale() -> None:
    long, short = stick_of([700 * MM], 3000 * MM), stick_of([700 * MM], 1500 * MM)
    drawings = [drawing for _, drawing in bars(plan_of(long, short), "metric")]
    widths = [[float(w) for _, w, kind in rectangles(d) if kind in {"stock", "piece"}] for d in drawings]
    assert widths[0][0] == 2 * widths[1][0]
    assert widths[0][1] == widths[1][1]
    assert abs(widths[0][1] / widths[0][0] - 700 / 3000) < 1e-3
    assert widths[0][0] <= PAPER_MM


def test_sticks_cut_alike_are_drawn_once_with_their_number() -> None:
    one, other = stick_of([700 * MM]), stick_of([600 * MM])
    headings = [heading for heading, _ in bars(plan_of(one, one, other), "metric")]
    assert headings == ["2 × s (2400 mm): 1697 mm left over", "1 × s (2400 mm): 1797 mm left over"]


def test_markup_in_names_stays_text() -> None:
    piece = StickPiece("<script>", 40 * INCH)
    stick = Stick(StickStock("<b>", 96 * INCH, Decimal(1)), (piece,), 50 * INCH)
    ((_, drawing),) = bars(plan_of(stick), "imperial")
    assert "<script>" not in drawing


def test_an_empty_plan_draws_nothing() -> None:
    assert bars(plan_of(), "metric") == []
