"""Sheets: every plan is checked by `verify_sheets`, which shares no code with the planner."""

import random
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.core.errors import InputError
from estimator.core.units import INCH, MM
from estimator.cutting.plans import MOST_PIECES, SheetPiece, SheetPlan, SheetStock
from estimator.cutting.sheets.plan import plan_sheets
from estimator.cutting.verify.sheets import verify_sheets
from tests.cutting.small_cases import fewest_sheets

FULL = SheetStock("48x96", 48 * INCH, 96 * INCH, Decimal("31.50"))
HALF = SheetStock("48x48", 48 * INCH, 48 * INCH, Decimal("19.00"))

lengths = st.integers(min_value=INCH, max_value=48 * INCH)
pieces_lists = st.lists(
    st.builds(SheetPiece, st.sampled_from("abc"), lengths, lengths, st.booleans()), max_size=12
)
kerfs = st.sampled_from([0, INCH // 8, 3 * MM])


def checked(plan: SheetPlan, pieces: list[SheetPiece], stocks: list[SheetStock], kerf: int) -> SheetPlan:
    assert verify_sheets(plan, pieces, stocks, kerf) == ()
    return plan


@settings(max_examples=40, deadline=None)
@given(pieces_lists, kerfs)
def test_every_piece_is_cut_once_and_no_material_appears(pieces: list[SheetPiece], kerf: int) -> None:
    stocks = [FULL, HALF]
    plan = checked(plan_sheets(pieces, stocks, kerf), pieces, stocks, kerf)
    assert plan.bound <= plan.cost
    area = sum(piece.width * piece.height for piece in pieces)
    assert area <= sum(sheet.stock.width * sheet.stock.height for sheet in plan.sheets)


@settings(max_examples=20, deadline=None)
@given(pieces_lists.filter(len), kerfs, st.randoms(use_true_random=False))
def test_the_order_of_the_list_changes_nothing(
    pieces: list[SheetPiece], kerf: int, chance: random.Random
) -> None:
    shuffled = pieces.copy()
    chance.shuffle(shuffled)
    one, other = plan_sheets(pieces, [FULL], kerf), plan_sheets(shuffled, [FULL], kerf)
    assert (one.cost, one.bound, len(one.sheets)) == (other.cost, other.bound, len(other.sheets))


def test_the_same_list_gives_the_same_plan() -> None:
    chance = random.Random(7)  # noqa: S311 - a case, not a secret
    pieces = [
        SheetPiece(f"p{n}", chance.randint(4, 40) * INCH, chance.randint(4, 40) * INCH) for n in range(30)
    ]
    assert plan_sheets(pieces, [FULL, HALF], INCH // 8) == plan_sheets(pieces, [FULL, HALF], INCH // 8)


def test_tiny_cases_against_every_cut() -> None:
    chance, least = random.Random(11), 0  # noqa: S311 - as above
    for _ in range(60):
        sizes = [
            (chance.randint(1, 7), chance.randint(1, 7), chance.random() < 0.5)
            for _ in range(chance.randint(1, 4))
        ]
        sheet = SheetStock("s", 7, 8, Decimal(1))
        pieces = [SheetPiece(f"p{n}", *size) for n, size in enumerate(sizes)]
        plan = checked(plan_sheets(pieces, [sheet], 0), pieces, [sheet], 0)
        exact = fewest_sheets(7, 8, sizes)
        assert plan.bound <= exact <= len(plan.sheets)
        least += len(plan.sheets) == exact
    assert least >= 59


def test_kerf_between_pieces_but_not_beyond_the_last() -> None:
    # Two halves of a sheet fit without a saw cut's width, and not with one; three pieces need two cuts.
    halves = [SheetPiece(n, 48 * INCH, 48 * INCH) for n in "ab"]
    assert len(plan_sheets(halves, [FULL], 0).sheets) == 1
    assert len(plan_sheets(halves, [FULL], INCH // 8).sheets) == 2
    thirds = [SheetPiece(n, 48 * INCH, 32 * INCH - INCH // 10) for n in "abc"]
    assert len(plan_sheets(thirds, [FULL], INCH // 8).sheets) == 1


def test_the_cheaper_sheet_is_taken_for_the_last_pieces() -> None:
    pieces = [SheetPiece(n, 48 * INCH, 48 * INCH) for n in "abc"]
    plan = checked(plan_sheets(pieces, [FULL, HALF], 0), pieces, [FULL, HALF], 0)
    assert plan.cost == Decimal("50.50")
    assert plan.proven


def test_six_tall_pieces_leave_room_for_the_rest() -> None:
    # Two 22 1/2 x 57 in pieces lie side by side on a sheet; backs and shelves fit above: own arithmetic.
    pieces = [SheetPiece(f"c{n}", 45 * INCH // 2, 57 * INCH) for n in range(6)]
    pieces += [SheetPiece(f"b{n}", 24 * INCH, 48 * INCH) for n in range(2)]
    pieces += [SheetPiece(f"s{n}", 14 * INCH, 30 * INCH) for n in range(4)]
    plan = checked(plan_sheets(pieces, [FULL], INCH // 8), pieces, [FULL], INCH // 8)
    assert len(plan.sheets) == 3
    assert plan.proven


def test_a_piece_that_may_not_turn_does_not() -> None:
    with pytest.raises(InputError, match="larger than any sheet"):
        plan_sheets([SheetPiece("face", 96 * INCH, 48 * INCH, may_turn=False)], [FULL], 0)
    assert plan_sheets([SheetPiece("back", 96 * INCH, 48 * INCH)], [FULL], 0).proven


@pytest.mark.parametrize(
    ("piece", "stocks", "kerf", "message"),
    [
        (SheetPiece("big", 97 * INCH, 10 * INCH), [FULL], 0, "piece big.*larger than any sheet"),
        (SheetPiece("none", 0, 10 * INCH), [FULL], 0, "piece none.*nothing to cut"),
        (SheetPiece("less", -INCH, 10 * INCH), [FULL], 0, "piece less.*nothing to cut"),
        (SheetPiece("p", INCH, INCH), [FULL], -1, "kerf.*negative"),
        (SheetPiece("p", INCH, INCH), [], 0, "no sheet"),
        (SheetPiece("p", INCH, INCH), [SheetStock("s", 0, INCH, Decimal(1))], 0, "sheet s"),
    ],
)
def test_what_cannot_be_cut_is_refused_by_name(
    piece: SheetPiece, stocks: list[SheetStock], kerf: int, message: str
) -> None:
    with pytest.raises(InputError, match=message):
        plan_sheets([piece], stocks, kerf)


def test_too_few_sheets_are_refused() -> None:
    few = SheetStock("few", 48 * INCH, 96 * INCH, Decimal(30), limit=1)
    pieces = [SheetPiece(f"p{n}", 48 * INCH, 90 * INCH) for n in range(2)]
    with pytest.raises(InputError, match="not enough sheets"):
        plan_sheets(pieces, [few], 0)
    plan = checked(plan_sheets(pieces, [few, FULL], 0), pieces, [few, FULL], 0)
    assert plan.cost == Decimal("61.50")


def test_as_many_pieces_as_a_list_may_have_are_cut_and_more_refused() -> None:
    pieces = [SheetPiece("p", 12 * INCH, 24 * INCH)] * MOST_PIECES
    plan = plan_sheets(pieces, [FULL], 0)
    assert 313 <= len(plan.sheets) <= 316  # sixteen a sheet are 312.5
    with pytest.raises(InputError, match="more than 5,000 pieces"):
        plan_sheets([*pieces, pieces[0]], [FULL], 0)


def test_nothing_to_cut_costs_nothing() -> None:
    plan = plan_sheets([], [FULL], 0)
    assert (plan.sheets, plan.cost, plan.proven) == ((), Decimal(0), True)
