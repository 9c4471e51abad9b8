"""Boards: every plan is checked by `verify_boards`, which shares no code with the planner."""

import random
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.core.errors import InputError
from estimator.core.units import INCH
from estimator.cutting.boards.plan import plan_boards
from estimator.cutting.plans import BoardPlan, Hole, SheetStock
from estimator.cutting.verify.sheets import verify_boards

WOOL = SheetStock("24x48", 24 * INCH, 48 * INCH, Decimal("11.20"))
LARGE = SheetStock("48x96", 48 * INCH, 96 * INCH, Decimal("40.00"))
TURNED = SheetStock("48x24", 48 * INCH, 24 * INCH, Decimal("11.20"))
LEAST = 3 * INCH


def filled(
    holes: list[Hole], stock: SheetStock, least: int = LEAST, kerf: int = 0, stagger: int = 0
) -> BoardPlan:
    plan = plan_boards(holes, stock, least, kerf, stagger)
    assert verify_boards(plan, holes, [stock], least, kerf) == ()
    return plan


def joint_places(plan: BoardPlan, hole: str, layer: int, *, up: bool) -> set[int]:
    tiles = [tile for tile in plan.tiles if (tile.hole, tile.layer) == (hole, layer)]
    return {tile.y if up else tile.x for tile in tiles} - {0}


sides = st.integers(min_value=INCH, max_value=130 * INCH)


@st.composite
def cavities(draw: st.DrawFn) -> list[Hole]:
    number = draw(st.integers(1, 6))
    return [Hole(f"N1/c{n}", draw(sides), draw(sides), draw(st.integers(1, 2))) for n in range(number)]


@pytest.mark.slow
@settings(max_examples=12, deadline=None)
@given(
    cavities(),
    st.sampled_from([WOOL, LARGE, TURNED]),
    st.sampled_from([0, INCH // 8]),
    st.sampled_from([0, 6 * INCH]),
)
def test_cavities_are_filled_exactly_without_slivers(
    holes: list[Hole], stock: SheetStock, kerf: int, stagger: int
) -> None:
    plan = filled(holes, stock, kerf=kerf, stagger=stagger)
    assert plan.bound <= plan.boards
    area = sum(hole.width * hole.height * hole.layers for hole in holes)
    assert area <= sum(sheet.stock.width * sheet.stock.height for sheet in plan.sheets.sheets)


@pytest.mark.slow
@settings(max_examples=6, deadline=None)
@given(cavities(), st.randoms(use_true_random=False))
def test_the_order_of_the_cavities_changes_nothing(holes: list[Hole], chance: random.Random) -> None:
    shuffled = holes.copy()
    chance.shuffle(shuffled)
    one, other = plan_boards(holes, WOOL, LEAST, 0), plan_boards(shuffled, WOOL, LEAST, 0)
    assert (one.boards, one.bound) == (other.boards, other.bound)


def ordinary(number: int, seed: int, layers: int = 1) -> list[Hole]:
    """Cavities as walls have them: a few heights, widths up to a board's, several of each."""
    chance = random.Random(seed)  # noqa: S311 - a case, not a secret
    heights = [chance.randrange(36, 97) * INCH for _ in range(3)]
    widths = [chance.randrange(30, 49) * INCH // 2 for _ in range(4)]
    return [
        Hole(f"N{n // 4 + 1}/c{n % 4 + 1}", chance.choice(widths), chance.choice(heights), layers)
        for n in range(number)
    ]


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("number", [1, 4, 12, pytest.param(60, marks=pytest.mark.slow)])
def test_ordinary_jobs_take_few_boards_over_the_bound_where_pieces_cost_nothing(
    seed: int, number: int
) -> None:
    plan = filled(ordinary(number, seed), WOOL)
    assert plan.boards <= plan.bound + 1 + number // 20


def test_a_board_between_studs_at_board_spacing() -> None:
    # Studs 24 in on centre leave 22 1/2 in: no board fits whole.
    holes = [Hole(f"W1/c{n}", 45 * INCH // 2, 57 * INCH) for n in range(60)]
    plan = filled(holes, WOOL)
    assert plan.bound == 67  # 60 x 22.5 x 57 / (24 x 48) = 66.8: own arithmetic
    assert plan.boards <= 72  # strips joined end to end would do with 68, and twice the pieces


def test_whole_boards_stay_whole() -> None:
    plan = filled([Hole("N1/c1", 24 * INCH, 96 * INCH)], WOOL)
    assert sorted((tile.width, tile.height) for tile in plan.tiles) == [(24 * INCH, 48 * INCH)] * 2
    assert plan.proven


def test_tiles_are_named_by_their_cavity() -> None:
    plan = filled([Hole("N1/c2", 24 * INCH, 57 * INCH)], WOOL)
    assert sorted(tile.name for tile in plan.tiles) == ["N1/c2.1", "N1/c2.2"]


def test_joints_of_two_layers_stand_apart() -> None:
    holes = [Hole("N1/c1", 24 * INCH, 96 * INCH, layers=2), Hole("N1/c2", 48 * INCH, 57 * INCH, layers=3)]
    stagger = 6 * INCH
    plan = filled(holes, WOOL, stagger=stagger)
    for hole in holes:
        for layer in range(1, hole.layers):
            for up in (False, True):
                here = joint_places(plan, hole.name, layer, up=up)
                there = joint_places(plan, hole.name, layer + 1, up=up)
                assert all(abs(a - b) >= stagger for a in here for b in there)


def test_offcuts_serve_other_cavities() -> None:
    # Each cavity needs a board and a half: two of them take three boards, not four.
    holes = [Hole("N1/c1", 24 * INCH, 72 * INCH), Hole("S1/c1", 24 * INCH, 72 * INCH)]
    assert filled(holes, WOOL).boards == 3


def test_a_cavity_smaller_than_the_smallest_piece_is_filled() -> None:
    plan = filled([Hole("N1/c1", INCH, 57 * INCH)], WOOL)
    assert all(tile.width == INCH for tile in plan.tiles)


@pytest.mark.parametrize(
    ("hole", "stock", "least", "kerf", "message"),
    [
        (Hole("N1/c1", 0, INCH), WOOL, LEAST, 0, "cavity N1/c1"),
        (Hole("N1/c1", INCH, -1), WOOL, LEAST, 0, "cavity N1/c1"),
        (Hole("N1/c1", INCH, INCH), WOOL, 13 * INCH, 0, "board 24x48.*smallest"),
        (Hole("N1/c1", INCH, INCH), WOOL, -1, 0, "minimum piece"),
        (Hole("N1/c1", INCH, INCH), WOOL, LEAST, -1, "kerf"),
    ],
)
def test_what_cannot_be_filled_is_refused_by_name(
    hole: Hole, stock: SheetStock, least: int, kerf: int, message: str
) -> None:
    with pytest.raises(InputError, match=message):
        plan_boards([hole], stock, least, kerf)


def test_a_cavity_named_twice_is_refused() -> None:
    with pytest.raises(InputError, match=r"N1/c1.*named twice"):
        plan_boards([Hole("N1/c1", INCH, INCH)] * 2, WOOL, LEAST, 0)


@pytest.mark.slow
def test_the_same_cavities_give_the_same_plan() -> None:
    holes = ordinary(20, seed=3, layers=2)
    assert plan_boards(holes, WOOL, LEAST, 0, 6 * INCH) == plan_boards(holes, WOOL, LEAST, 0, 6 * INCH)


def test_nothing_to_fill_takes_no_board() -> None:
    assert plan_boards([], WOOL, LEAST, 0).boards == 0


def test_a_planted_fault_is_found() -> None:
    holes = [Hole("N1/c1", 24 * INCH, 57 * INCH), Hole("N1/c2", 20 * INCH, 57 * INCH)]
    plan = filled(holes, WOOL)
    first, rest = plan.tiles[0], plan.tiles[1:]
    sheet, others = plan.sheets.sheets[0], plan.sheets.sheets[1:]
    moved = replace(sheet.placed[0], x=sheet.placed[0].x + INCH)
    off = replace(plan.sheets, sheets=(replace(sheet, placed=(moved, *sheet.placed[1:])), *others))
    faults = {
        "do not fill": replace(plan, tiles=rest),
        "sliver": replace(plan, tiles=(replace(first, width=INCH), *rest)),
        "name": replace(plan, tiles=(replace(first, name="x"), *rest)),
        "beyond the sheet": replace(plan, sheets=off),
        "said to be": replace(plan, boards=plan.boards + 1),
        "does not agree": replace(plan, bound=plan.boards + 1),
    }
    for words, wrong in faults.items():
        found = [str(problem) for problem in verify_boards(wrong, holes, [WOOL], LEAST, 0)]
        assert any(words in text for text in found), (words, found)
