"""The checks of drawn plans, of sheets, boards and rolls, find every planted fault and say what it is."""

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal as D

import pytest

from estimator.core.errors import Problem
from estimator.cutting.plans import (
    BoardPlan,
    CutSheet,
    Hole,
    Placed,
    PlacedCloth,
    Rectangle,
    RollPiece,
    RollPlan,
    Seam,
    SheetPiece,
    SheetPlan,
    SheetStock,
    Tile,
)
from estimator.cutting.verify.rolls import verify_roll
from estimator.cutting.verify.sheets import verify_boards, verify_sheets

FIX = "The plan is wrong and must not be cut."


def said(problems: Sequence[Problem]) -> list[tuple[str, str]]:
    assert {p.fix for p in problems} <= {FIX}
    return [(p.where, p.what) for p in problems]


# A sheet of 100 x 50 and a kerf of 2: a takes 40, a cut 2, then b over an offcut takes 30, a cut 2, 26 left.
STOCK = SheetStock("s", 100, 50, D(3))
A, B = SheetPiece("a", 40, 50), SheetPiece("b", 30, 20)
IN_A, IN_B = Placed(A, 0, 0, 40, 50), Placed(B, 42, 0, 30, 20)
LEFT = (Rectangle(42, 22, 30, 28), Rectangle(74, 0, 26, 50))
SHEET = CutSheet(STOCK, (IN_A, IN_B), LEFT)
SHEETS = SheetPlan((SHEET,), kerf=2, cost=D(3), bound=D(3), proven=True, method="by hand")
# Four of 1 x 2 round one of 1 x 1, as the sails of a windmill.
SAILS = [(0, 0, 2, 1), (2, 0, 1, 2), (1, 2, 2, 1), (0, 1, 1, 2), (1, 1, 1, 1)]
SAIL_PIECES = [SheetPiece(str(n), w, h) for n, (_, _, w, h) in enumerate(SAILS)]
SAIL_SPOTS = tuple(Placed(p, *spot) for p, spot in zip(SAIL_PIECES, SAILS, strict=True))
SQUARE = SheetStock("q", 3, 3, D(3))
MILL = replace(SHEETS, sheets=(CutSheet(SQUARE, SAIL_SPOTS, ()),), kerf=0)


def sheet_faults(
    plan: SheetPlan, pieces: Sequence[SheetPiece] = (A, B), stocks: Sequence[SheetStock] = (STOCK,)
) -> list[tuple[str, str]]:
    return said(verify_sheets(plan, pieces, stocks, 0 if plan is MILL else 2))


def with_sheet(**changes: object) -> SheetPlan:
    return replace(SHEETS, sheets=(replace(SHEET, **changes),))  # type: ignore[arg-type]


TWO = replace(SHEETS, sheets=(SHEET, SHEET), cost=D(6), bound=D(6))
ONE_OF = replace(STOCK, limit=1)
NO_CUT = ("sheets[0]", "cannot be cut by cuts from edge to edge")
NO_SUM = ("sheets[0]", "pieces and offcuts do not add up to the sheet")
WRONG_SIZE = ("sheets[0]", "'b' is not cut to its size, or turned against its direction")


def test_a_sound_plan_of_sheets_passes() -> None:
    assert sheet_faults(SHEETS) == []
    assert sheet_faults(replace(SHEETS, bound=D(2), proven=False)) == []
    assert sheet_faults(with_sheet(offcuts=LEFT[:1])) == []  # with a kerf, waste may be left out


def test_pieces_are_all_cut_and_no_others() -> None:
    assert sheet_faults(SHEETS, (A, B, B, B)) == [("pieces", "2 of 'b' are not cut")]
    assert sheet_faults(SHEETS, (A,)) == [("pieces", "1 of 'b' are cut and not wanted")]


def test_a_piece_is_cut_at_its_size_and_in_its_direction() -> None:
    for piece, wrong in (
        (replace(B, height=21), True),
        (replace(B, width=31), True),
        (SheetPiece("b", 20, 30), False),
        (SheetPiece("b", 20, 30, may_turn=False), True),
        (SheetPiece("b", 20, 31), True),
        (SheetPiece("b", 21, 30), True),
    ):
        plan = with_sheet(placed=(IN_A, replace(IN_B, piece=piece)))
        assert sheet_faults(plan, (A, piece)) == [WRONG_SIZE] * wrong


def test_pieces_lie_on_their_sheet() -> None:
    beyond = "'b' reaches beyond the sheet or has no size"
    for x, y in ((71, 0), (-1, 0), (0, 31), (0, -1)):
        plan = with_sheet(placed=(replace(IN_B, x=x, y=y),), offcuts=())
        assert sheet_faults(plan, (B,)) == [("sheets[0]", beyond)], (x, y)
    for x, y in ((70, 0), (0, 30), (70, 30), (0, 0)):
        assert sheet_faults(with_sheet(placed=(replace(IN_B, x=x, y=y),), offcuts=()), (B,)) == []
    for nothing in (SheetPiece("b", 0, 20), SheetPiece("b", 30, 0)):
        spot = Placed(nothing, 5, 5, nothing.width, nothing.height)
        assert sheet_faults(with_sheet(placed=(spot,), offcuts=()), (nothing,)) == [("sheets[0]", beyond)]


def test_an_offcut_lies_on_its_sheet_too() -> None:
    found = sheet_faults(with_sheet(offcuts=(LEFT[0], replace(LEFT[1], width=27))))
    assert found == [("sheets[0]", "'offcut' reaches beyond the sheet or has no size"), NO_SUM]


@pytest.mark.parametrize("turned", [False, True], ids=["wide", "tall"])
def test_pieces_lie_a_kerf_apart(turned: bool) -> None:  # noqa: FBT001
    stock = SheetStock("s", 50, 100, D(3)) if turned else STOCK
    a, b = SheetPiece("a", 20, 20), SheetPiece("b", 20, 20)
    for gap, wrong in ((2, False), (1, True), (0, True), (-5, True)):
        at = (0, 20 + gap) if turned else (20 + gap, 0)
        plan = with_sheet(stock=stock, placed=(Placed(a, 0, 0, 20, 20), Placed(b, *at, 20, 20)), offcuts=())
        close = ("sheets[0]", "'a' and 'b' overlap or leave no room for the saw")
        assert sheet_faults(plan, (a, b), (stock,)) == [close, NO_CUT] * wrong, gap


def test_cuts_go_from_edge_to_edge() -> None:
    assert sheet_faults(MILL, SAIL_PIECES, [SQUARE]) == [NO_CUT]


def test_without_a_kerf_pieces_and_offcuts_are_the_sheet() -> None:
    plan = replace(MILL, sheets=(CutSheet(SQUARE, SAIL_SPOTS[:1], ()),))
    assert said(verify_sheets(plan, SAIL_PIECES[:1], [SQUARE], 0)) == [NO_SUM]


def test_a_sheet_is_not_bought_for_nothing() -> None:
    empty = CutSheet(STOCK, (), (Rectangle(0, 0, 100, 50),))
    assert sheet_faults(replace(TWO, sheets=(SHEET, empty))) == [("sheets[1]", "nothing is cut from it")]


def test_sheets_are_those_that_can_be_had() -> None:
    limited = replace(TWO, sheets=(replace(SHEET, stock=ONE_OF),) * 2)
    assert sheet_faults(SHEETS, stocks=()) == [("sheet 's'", "is not on the list")]
    assert sheet_faults(limited, (A, A, B, B), [ONE_OF]) == [("sheet 's'", "2 are used of 1")]
    assert sheet_faults(limited, (A, A, B, B), [ONE_OF, ONE_OF]) == []


def test_cost_bound_and_proof_of_sheets_agree() -> None:
    assert sheet_faults(replace(SHEETS, kerf=3)) == [("kerf", "is not the one asked for")]
    assert sheet_faults(replace(SHEETS, cost=D(4))) == [("cost", "said to be 4 and is 3")]
    above = replace(SHEETS, bound=D(4), proven=False)
    assert sheet_faults(above) == [("bound", "4 is above the cost 3")]
    below = replace(SHEETS, bound=D(2))
    assert sheet_faults(below) == [("proven", "the bound 2 does not reach the cost 3")]


# A cavity of 10 x 10 filled by two pieces of one board of that size.
HOLE = Hole("h", 10, 10)
TILES = (Tile("h", 1, "h.1", 0, 0, 6, 10), Tile("h", 1, "h.2", 6, 0, 4, 10))
BOARD = SheetStock("b", 10, 10, D(1))


def boards(
    tiles: Sequence[Tile] = TILES, *, number: int = 1, bound: int = 1, proven: bool = True
) -> BoardPlan:
    spots = [
        Placed(SheetPiece(t.name, t.width, t.height), x, 0, t.width, t.height)
        for t, x in zip(tiles, (0, 6), strict=True)
    ]
    sheets = SheetPlan((CutSheet(BOARD, tuple(spots), ()),), 0, D(1), D(1), proven=True, method="by hand")
    return BoardPlan(tuple(tiles), sheets, number, bound, proven)


def board_faults(plan: BoardPlan, hole: Hole | None = HOLE, least: int = 2) -> list[tuple[str, str]]:
    return said(verify_boards(plan, [hole] if hole else [], [BOARD], least, 0))


LAYER = "cavity 'h' layer 1"


def test_a_sound_plan_of_boards_passes() -> None:
    assert board_faults(boards()) == []
    assert board_faults(boards(), least=4) == []
    assert board_faults(boards(bound=0, proven=False)) == []


@pytest.mark.parametrize(
    ("hole", "least", "where", "what"),
    [
        (replace(HOLE, height=11), 2, LAYER, "the pieces do not fill the cavity"),
        (HOLE, 5, LAYER, "'h.2' is a sliver under the smallest piece"),
        (replace(HOLE, layers=2), 2, "cavity 'h'", "layers [1] instead of 1 to 2"),
        (None, 2, "cavity 'h'", "is not wanted"),
    ],
)  # fmt: skip
def test_a_cavity_that_is_not_filled_as_asked(hole: Hole | None, least: int, where: str, what: str) -> None:
    assert board_faults(boards(), hole, least) == [(where, what)]


def test_a_cavity_under_the_smallest_piece_takes_a_piece_of_its_own_size() -> None:
    low = replace(HOLE, name="l", height=3)
    tiles = (Tile("l", 1, "l.1", 0, 0, 6, 3), Tile("l", 1, "l.2", 6, 0, 4, 3))
    spots = tuple(Placed(SheetPiece(t.name, t.width, 3), t.x, 0, t.width, 3) for t in tiles)
    sheet = CutSheet(BOARD, spots, (Rectangle(0, 3, 10, 7),))
    plan = replace(boards(), tiles=tiles, sheets=replace(boards().sheets, sheets=(sheet,)))
    assert board_faults(plan, low, 4) == []
    assert board_faults(plan, low, 5) == [
        ("cavity 'l' layer 1", "'l.2' is a sliver under the smallest piece")
    ]


def test_tiles_lie_in_their_cavity_and_not_on_one_another() -> None:
    beyond, over = (boards((TILES[0], replace(TILES[1], x=x))) for x in (7, 5))
    assert board_faults(beyond) == [(LAYER, "'h.2' reaches beyond the cavity or has no size")]
    assert board_faults(over) == [(LAYER, "'h.1' and 'h.2' overlap")]


def test_tiles_have_names_of_their_own() -> None:
    foreign, twice = (boards((TILES[0], replace(TILES[1], name=name))) for name in ("x.2", "h.1"))
    assert board_faults(foreign) == [("cavity 'h'", "'x.2' is not named by its cavity")]
    assert board_faults(twice) == [("tile 'h.1'", "has a name given twice")]


def test_the_number_of_boards_and_its_bound_agree() -> None:
    assert board_faults(boards(number=2, proven=False)) == [("boards", "said to be 2 and are 1")]
    for plan in (boards(bound=2, proven=False), boards(bound=0)):
        assert board_faults(plan) == [("bound", f"{plan.bound} does not agree with 1 boards")]


# A roll 10 wide: p and q beside one another, then r, 12 wide, in two parts with 1 turned in at their seam.
P, Q = RollPiece("p", 6, 4), RollPiece("q", 4, 4)
R = RollPiece("r", 12, 5, seam_at=(7,), seam_allowance=1)
SPOTS = (
    PlacedCloth("p", 0, 0, 6, 4, turned=False),
    PlacedCloth("q", 6, 0, 4, 4, turned=False),
    PlacedCloth("r/1", 0, 4, 8, 5, turned=False),
    PlacedCloth("r/2", 0, 9, 6, 5, turned=False),
)
SEAM = Seam("r", ("r/1", "r/2"), (7,))
ROLL = RollPlan(10, SPOTS, (SEAM,), 14, 14, proven=True, method="by hand")


def roll_faults(
    plan: RollPlan, pieces: Sequence[RollPiece] = (P, Q, R), width: int = 10, step: int = 1
) -> list[tuple[str, str]]:
    return said(verify_roll(plan, pieces, width, step))


def with_spot(at: int, **changes: object) -> RollPlan:
    spots = list(SPOTS)
    spots[at] = replace(spots[at], **changes)  # type: ignore[arg-type]
    return replace(ROLL, placed=tuple(spots))


def test_a_sound_plan_of_a_roll_passes() -> None:
    assert roll_faults(ROLL) == []
    assert roll_faults(replace(ROLL, bound=13, proven=False)) == []
    assert roll_faults(with_spot(1, turned=True), (P, replace(Q, may_turn=True), R)) == []


def test_pieces_of_cloth_are_all_cut_and_no_others() -> None:
    assert roll_faults(ROLL, (P, Q, Q, R)) == [("piece 'q'", "1 are not cut at their size")]
    assert roll_faults(ROLL, (P, R)) == [("piece 'q'", "1 are cut and not wanted")]
    assert roll_faults(with_spot(1, turned=True)) == [("piece 'q'", "is turned against its direction")]


def test_a_turned_piece_takes_its_length_across() -> None:
    turned = with_spot(0, turned=True)
    assert roll_faults(turned, (RollPiece("p", 4, 6, may_turn=True), Q, R)) == []
    assert ("piece 'p'", "1 are not cut at their size") in roll_faults(
        turned, (replace(P, may_turn=True), Q, R)
    )


def test_cloth_lies_on_the_roll_and_not_on_cloth() -> None:
    beyond = ("roll", "'q' reaches beyond the roll or the length used, or has no size")
    assert roll_faults(with_spot(1, x=7)) == [beyond]
    no_cut = ("roll", "cannot be cut by cuts from edge to edge")
    assert roll_faults(with_spot(1, x=5)) == [("roll", "'p' and 'q' overlap"), no_cut]
    assert roll_faults(ROLL, width=11) == [("roll", "is not as wide as the one asked for")]


def test_every_piece_begins_at_a_whole_repeat() -> None:
    """Lengths of 5 take 6 of a repeat of 2."""
    sound = replace(with_spot(3, y=10), length=16, bound=16)
    assert roll_faults(sound, step=2) == []
    odd = replace(with_spot(3, y=11), length=17, bound=17)
    assert roll_faults(odd, step=2) == [("roll", "'r/2' does not begin at a whole repeat")]


def test_length_bound_and_proof_of_a_roll_agree() -> None:
    longer = replace(ROLL, length=15, proven=False)
    assert roll_faults(longer) == [("length", "said to be 15 nm and is 14 nm")]
    for plan in (replace(ROLL, bound=15, proven=False), replace(ROLL, bound=13)):
        assert roll_faults(plan) == [("bound", f"{plan.bound} nm does not agree with the length 14 nm")]
    none = replace(ROLL, placed=(), seams=(), length=0, bound=0)
    assert roll_faults(none, ()) == []


def test_seams_fall_where_they_may() -> None:
    moved = replace(ROLL, seams=(replace(SEAM, at=(8,)),))
    spots = (*SPOTS[:2], replace(SPOTS[2], width=9), replace(SPOTS[3], width=5))
    assert roll_faults(replace(moved, placed=spots)) == [("piece 'r'", "is seamed where no seam may fall")]
    for at in ((0,), (12,), (7, 5), (7, 7)):
        free = replace(R, seam_at=(0, 5, 7, 12))
        found = roll_faults(replace(ROLL, seams=(replace(SEAM, at=at),)), (P, Q, free))
        assert ("piece 'r'", "has seams out of order or outside it") in found, at
    for at in ((1,), (11,), (5, 7)):
        free = replace(R, seam_at=at)
        found = roll_faults(replace(ROLL, seams=(replace(SEAM, at=at),)), (P, Q, free))
        assert ("piece 'r'", "has seams out of order or outside it") not in found, at


def test_a_seamed_piece_has_a_part_more_than_seams() -> None:
    wrong = ("piece 'r'", "has not one part more than seams")
    assert roll_faults(replace(ROLL, seams=(replace(SEAM, parts=("r/1", "r/2", "r/3")),))) == [wrong]
    whole = RollPiece("r", 8, 5)
    uncut = replace(ROLL, seams=(Seam("r", ("r/1",), ()),), placed=SPOTS[:3], length=9, bound=9)
    assert roll_faults(uncut, (P, Q, whole)) == [wrong]


def test_only_pieces_wanted_are_seamed_and_once() -> None:
    assert roll_faults(replace(ROLL, seams=(SEAM, SEAM))) == [("seams", "a piece is seamed twice")]
    other = replace(ROLL, seams=(SEAM, replace(SEAM, piece="z")))
    assert roll_faults(other) == [("piece 'z'", "is seamed and not wanted")]
