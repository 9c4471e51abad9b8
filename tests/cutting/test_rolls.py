"""Rolls: every plan is checked by `verify_roll`, which shares no code with the planner."""

import random
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.core.errors import InputError
from estimator.core.units import INCH
from estimator.cutting.plans import RollPiece, RollPlan
from estimator.cutting.rolls.plan import plan_roll
from estimator.cutting.verify.rolls import verify_roll
from tests.cutting.small_cases import shortest_roll

WIDTH = 60 * INCH


def laid(pieces: list[RollPiece], width: int = WIDTH, step: int = 1) -> RollPlan:
    plan = plan_roll(pieces, width, step)
    assert verify_roll(plan, pieces, width, step) == ()
    return plan


@st.composite
def cloths(draw: st.DrawFn) -> list[RollPiece]:
    number = draw(st.integers(1, 9))
    sides = st.integers(INCH, WIDTH)
    return [RollPiece(f"p{n}", draw(sides), draw(sides), draw(st.booleans())) for n in range(number)]


@settings(max_examples=20, deadline=None)
@given(cloths(), st.sampled_from([1, 9 * INCH]))
def test_every_piece_lies_once_and_the_bound_holds(pieces: list[RollPiece], step: int) -> None:
    plan = laid(pieces, step=step)
    assert plan.bound <= plan.length
    assert plan.length * WIDTH >= sum(piece.width * piece.length for piece in pieces)


@settings(max_examples=10, deadline=None)
@given(cloths(), st.randoms(use_true_random=False))
def test_the_order_of_the_list_changes_nothing(pieces: list[RollPiece], chance: random.Random) -> None:
    shuffled = pieces.copy()
    chance.shuffle(shuffled)
    one, other = plan_roll(pieces, WIDTH), plan_roll(shuffled, WIDTH)
    assert (one.length, one.bound) == (other.length, other.bound)


def test_the_same_list_gives_the_same_plan() -> None:
    chance = random.Random(5)  # noqa: S311 - a case, not a secret
    pieces = [
        RollPiece(f"p{n}", chance.randint(8, 50) * INCH, chance.randint(8, 90) * INCH, may_turn=True)
        for n in range(15)
    ]
    assert plan_roll(pieces, WIDTH) == plan_roll(pieces, WIDTH)


def test_tiny_cases_against_every_cut() -> None:
    chance, least = random.Random(13), 0  # noqa: S311 - as above
    for _ in range(40):
        sizes = [
            (chance.randint(1, 6), chance.randint(1, 6), chance.random() < 0.5)
            for _ in range(chance.randint(1, 4))
        ]
        pieces = [RollPiece(f"p{n}", w, h, turn) for n, (w, h, turn) in enumerate(sizes)]
        plan, exact = laid(pieces, width=6), shortest_roll(6, sizes)
        assert plan.bound <= exact <= plan.length
        least += plan.length == exact
    assert least >= 39


def test_wide_pieces_cannot_lie_side_by_side() -> None:
    # Wider than half the roll, each takes its own length: their sum is the bound, and reached.
    pieces = [RollPiece(f"p{n}", 31 * INCH, (40 + n) * INCH) for n in range(5)]
    plan = laid(pieces)
    assert plan.length == plan.bound == sum(piece.length for piece in pieces)
    assert plan.proven


def test_nap_forbids_the_turn_that_would_save_cloth() -> None:
    napped = [RollPiece(f"p{n}", 40 * INCH, 30 * INCH) for n in range(2)]
    assert laid(napped).length == 60 * INCH
    free = [replace(piece, may_turn=True) for piece in napped]
    plan = laid(free)
    assert plan.length == 40 * INCH
    assert all(cloth.turned for cloth in plan.placed)


def test_a_pattern_makes_every_piece_begin_at_a_repeat() -> None:
    pieces = [RollPiece(f"p{n}", 50 * INCH, 63 * INCH) for n in range(3)]
    plan = laid(pieces, step=18 * INCH)
    assert plan.length == 3 * 72 * INCH
    assert sorted(cloth.y for cloth in plan.placed) == [0, 72 * INCH, 144 * INCH]


def test_a_piece_wider_than_the_roll_is_seamed_over_a_stud() -> None:
    piece = RollPiece("N1 front", 100 * INCH, 63 * INCH, seam_at=(24 * INCH, 48 * INCH, 72 * INCH))
    plan = laid([piece])
    assert len(plan.seams) == 1
    assert plan.seams[0].at == (48 * INCH,)
    assert plan.seams[0].parts == ("N1 front.1", "N1 front.2")
    assert plan.length == 126 * INCH


def test_each_side_of_a_seam_is_cut_wider_by_what_is_turned_in() -> None:
    # 140 in in three parts: the outer ones have one seam each, the middle one two; 1/2 in a side.
    piece = RollPiece("F", 140 * INCH, 90 * INCH, seam_at=(45 * INCH, 95 * INCH), seam_allowance=INCH // 2)
    plan = plan_roll([piece], WIDTH)
    widths = {p.name: p.width for p in plan.placed}
    assert widths == {"F.1": 45 * INCH + INCH // 2, "F.2": 51 * INCH, "F.3": 45 * INCH + INCH // 2}
    assert verify_roll(plan, [piece], WIDTH) == ()
    assert verify_roll(plan, [replace(piece, seam_allowance=0)], WIDTH) != ()


def test_a_part_must_fit_the_roll_with_what_is_turned_in() -> None:
    piece = RollPiece("F", 100 * INCH, 90 * INCH, seam_at=(WIDTH,), seam_allowance=INCH // 2)
    assert plan_roll([replace(piece, seam_allowance=0)], WIDTH).seams[0].at == (WIDTH,)
    with pytest.raises(InputError, match=r"piece F.*seam"):
        plan_roll([piece], WIDTH)


def test_a_seam_is_not_needed_where_the_piece_may_turn() -> None:
    piece = RollPiece("cloud", 100 * INCH, 58 * INCH, may_turn=True, seam_at=(50 * INCH,))
    plan = laid([piece])
    assert plan.seams == ()
    assert plan.length == 100 * INCH


@pytest.mark.parametrize(
    ("piece", "width", "step", "message"),
    [
        (RollPiece("wide", 61 * INCH, 10 * INCH), WIDTH, 1, "piece wide.*seam"),
        (RollPiece("far", 130 * INCH, 10 * INCH, seam_at=(65 * INCH,)), WIDTH, 1, "piece far.*seam"),
        (RollPiece("none", 0, 10 * INCH), WIDTH, 1, "piece none.*nothing to cut"),
        (RollPiece("less", 10 * INCH, -1), WIDTH, 1, "piece less.*nothing to cut"),
        (RollPiece("p", INCH, INCH), 0, 1, "roll width"),
        (RollPiece("p", INCH, INCH), WIDTH, 0, "repeat"),
    ],
)
def test_what_cannot_be_laid_is_refused_by_name(
    piece: RollPiece, width: int, step: int, message: str
) -> None:
    with pytest.raises(InputError, match=message):
        plan_roll([piece], width, step)


def test_many_equal_pieces_end() -> None:
    plan = plan_roll([RollPiece("p", 20 * INCH, 30 * INCH)] * 3000, WIDTH)
    assert plan.length == plan.bound == 1000 * 30 * INCH


def test_nothing_to_lay_takes_no_length() -> None:
    assert plan_roll([], WIDTH).length == 0


def test_a_planted_fault_is_found() -> None:
    pieces = [RollPiece(f"p{n}", 30 * INCH, 30 * INCH) for n in range(4)]
    plan = laid(pieces)
    first, second = plan.placed[:2]
    faults = {
        "overlap": replace(plan, placed=(replace(first, x=second.x, y=second.y), *plan.placed[1:])),
        "not cut": replace(plan, placed=plan.placed[1:]),
        "beyond the roll": replace(plan, placed=(replace(first, x=31 * INCH), *plan.placed[1:])),
        "against its direction": replace(plan, placed=(replace(first, turned=True), *plan.placed[1:])),
        "length": replace(plan, length=plan.length + 1),
        "bound": replace(plan, bound=plan.length + 1),
    }
    for words, wrong in faults.items():
        found = [str(problem) for problem in verify_roll(wrong, pieces, WIDTH)]
        assert any(words in text for text in found), (words, found)


def test_a_layout_that_no_straight_cut_parts_is_no_plan() -> None:
    # Five pieces round a square, each reaching past the next: the classic pinwheel.
    sizes = [("a", 0, 0, 2, 1), ("b", 2, 0, 1, 2), ("c", 1, 2, 2, 1), ("d", 0, 1, 1, 2), ("e", 1, 1, 1, 1)]
    pieces = [RollPiece(name, w, h) for name, _, _, w, h in sizes]
    base = plan_roll(pieces, 3)
    placed = tuple(
        replace(base.placed[0], name=name, x=x, y=y, width=w, length=h, turned=False)
        for name, x, y, w, h in sizes
    )
    wheel = replace(base, placed=placed, length=3, bound=3, proven=True)
    assert any("edge to edge" in problem.what for problem in verify_roll(wheel, pieces, 3))


def test_lengths_of_whole_pieces_raise_the_bound() -> None:
    # Area asks for 2.4 lengths of 50 in; it is some pieces end to end, so three: own arithmetic.
    pieces = [RollPiece(f"p{n}", 24 * INCH, 50 * INCH) for n in range(6)]
    plan = laid(pieces)
    assert plan.length == plan.bound == 150 * INCH
