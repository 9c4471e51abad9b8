"""Drawings of sheets and rolls: to scale, everything said, no text over another."""

import re
from decimal import Decimal
from html import unescape
from itertools import combinations

import pytest

from estimator.core.units import INCH
from estimator.cutting.plans import RollPiece, SheetPiece, SheetStock
from estimator.cutting.rolls.plan import plan_roll
from estimator.cutting.sheets.plan import plan_sheets
from estimator.documents.canvas import STYLES
from estimator.documents.cutting_drawings import roll_drawing, sheet_drawing

STOCK = SheetStock("s", 48 * INCH, 96 * INCH, Decimal(30))
TEXT = re.compile(r'<text x="([\d.]+)" y="([\d.]+)" font-size="([\d.]+)"([^>]*)>([^<]*)</text>')


def text_boxes(svg: str) -> list[tuple[float, float, float, float]]:
    """Boxes of the texts, half an em a character: what a sans serif face takes on the mean (from memory)."""
    found = []
    for x, y, size, turn, text in TEXT.findall(svg):
        half, high = 0.5 * float(size) * len(unescape(text)) / 2, float(size)
        left, base = float(x), float(y)
        if "rotate" in turn:
            found.append((left - 0.75 * high, base - half, left + 0.2 * high, base + half))
        else:
            found.append((left - half, base - 0.75 * high, left + half, base + 0.2 * high))
    return found


def overlap(one: tuple[float, ...], other: tuple[float, ...]) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


@pytest.fixture(scope="module")
def drawing() -> str:
    pieces = [SheetPiece(f"panel back {n}", 11 * INCH, 23 * INCH) for n in range(6)]
    pieces += [SheetPiece(f"rip {n}", 2 * INCH, 30 * INCH) for n in range(4)]
    pieces += [SheetPiece(f"block <{n}>", 2 * INCH, 2 * INCH) for n in range(9)]
    plan = plan_sheets(pieces, [STOCK], INCH // 8)
    assert len(plan.sheets) == 1
    return sheet_drawing(plan.sheets[0])


def test_every_piece_is_named_with_its_size(drawing: str) -> None:
    said = unescape(re.sub(r"<[^>]+>", " ", drawing))
    for n in range(6):
        assert f"panel back {n}" in said
    for n in range(9):
        assert f"block <{n}>" in said
    assert said.count('11" × 1\'11"') + said.count('1\'11" × 11"') == 6


def test_no_text_stands_over_another(drawing: str) -> None:
    boxes = text_boxes(drawing)
    assert len(boxes) > 10
    assert not [pair for pair in combinations(boxes, 2) if overlap(*pair)]


def test_the_sheet_is_drawn_to_scale(drawing: str) -> None:
    width, height = re.search(rf'width="([\d.]+)" height="([\d.]+)" {STYLES["stock"]}', drawing).groups()  # type: ignore[union-attr]
    assert float(width) / float(height) == pytest.approx(96 / 48, rel=1e-3)


def test_a_long_roll_is_drawn_in_rows_and_turned_pieces_are_marked() -> None:
    pieces = [RollPiece(f"N{n}", 55 * INCH, 63 * INCH) for n in range(12)]
    pieces += [RollPiece("cloud", 90 * INCH, 40 * INCH, may_turn=True)]
    text = roll_drawing(plan_roll(pieces, 60 * INCH))
    assert text.count("<svg") >= 3
    assert "cloud ↻" in text
    assert all(f">N{n}<" in text for n in range(12))


def test_an_empty_roll_draws_nothing() -> None:
    assert roll_drawing(plan_roll([], 60 * INCH)) == ""
