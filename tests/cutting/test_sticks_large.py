"""Plans of sticks as a shop or a hostile list asks for them: large, mixed in units, the same each time."""

import random
import subprocess
import sys
from decimal import Decimal

import pytest

from estimator.core.errors import InputError
from estimator.core.units import INCH, MM
from estimator.cutting.plans import MOST_PIECES, StickPiece, StickStock
from estimator.cutting.sticks.plan import plan_sticks
from estimator.cutting.verify.sticks import verify_sticks

KERF = INCH // 8
SHOP = (
    StickStock("8 ft", 96 * INCH, Decimal("4.38")),
    StickStock("10 ft", 120 * INCH, Decimal("5.72")),
    StickStock("12 ft", 144 * INCH, Decimal("7.15")),
)


def list_of(count: int, lengths: int, seed: int, step: int = INCH // 16, top: int = 90) -> list[StickPiece]:
    """Return an invented list: `count` pieces of some `lengths` different lengths, 4 in to `top` in."""
    draw = random.Random(seed)  # noqa: S311 - an invented list, nothing secret
    sizes = [draw.randint(4 * INCH // step, top * INCH // step) * step for _ in range(lengths)]
    return [StickPiece(f"p{at}", sizes[at] if at < lengths else draw.choice(sizes)) for at in range(count)]


@pytest.mark.parametrize(("lengths", "seed"), [(20, 1), (80, 2), (150, 3)])
def test_three_hundred_pieces_are_within_a_thousandth(lengths: int, seed: int) -> None:
    pieces = list_of(300, lengths, seed)
    plan = plan_sticks(pieces, SHOP, KERF)
    assert verify_sticks(plan, pieces, SHOP, KERF, 0) == ()
    assert plan.cost - plan.bound <= plan.cost / 1000


@pytest.mark.slow
def test_five_thousand_pieces_of_a_thousand_lengths_are_within_a_two_hundredth() -> None:
    pieces, shares = list_of(5000, 1000, 4, INCH // 64, 60), list[float]()
    plan = plan_sticks(pieces, SHOP, KERF, progress=shares.append)
    assert verify_sticks(plan, pieces, SHOP, KERF, 0) == ()
    assert plan.cost - plan.bound <= plan.cost / 200
    assert shares == sorted(shares)
    assert shares[-1] == 1


def test_as_many_pieces_as_a_list_may_have_are_planned() -> None:
    pieces = [StickPiece("a", 400 * MM)] * 3_000 + [StickPiece("b", 700 * MM)] * (MOST_PIECES - 3_000)
    plan = plan_sticks(pieces, [StickStock("s", 2400 * MM, Decimal(1))], 0)
    # By length alone: (3 000 x 0.4 m + 2 000 x 0.7 m) / 2.4 m = 1083.3 sticks.
    assert plan.bound >= 1084
    assert plan.proven
    assert sum(len(stick.pieces) for stick in plan.sticks) == MOST_PIECES


@pytest.mark.slow
def test_thousands_of_lengths_are_bounded_in_groups() -> None:
    pieces = list_of(3000, 2000, 8, INCH // 640)
    plan = plan_sticks(pieces, SHOP, KERF)
    assert verify_sticks(plan, pieces, SHOP, KERF, 0) == ()
    assert plan.bound <= plan.cost <= plan.bound * Decimal("1.005")


def test_too_many_pieces_are_refused_clearly() -> None:
    with pytest.raises(InputError, match="more than 5,000 pieces"):
        plan_sticks([StickPiece("a", 1)] * (MOST_PIECES + 1), SHOP, KERF)


def test_millimetres_on_sticks_in_inches_are_still_exact() -> None:
    pieces = list_of(60, 40, 5, MM)
    plan = plan_sticks(pieces, SHOP, KERF)
    assert verify_sticks(plan, pieces, SHOP, KERF, 0) == ()
    assert plan.proven


@pytest.mark.parametrize("kerf", [0, KERF])
def test_lengths_that_share_no_unit_need_no_endless_table(kerf: int) -> None:
    pieces = [*list_of(40, 40, 6, 1), StickPiece("crumb", 1)]
    plan = plan_sticks(pieces, SHOP, kerf)
    assert verify_sticks(plan, pieces, SHOP, kerf, 0) == ()
    assert plan.cost - plan.bound <= plan.cost / 50


def test_limits_bind_and_are_kept() -> None:
    pieces = [StickPiece("long", 100 * INCH)] * 4 + [StickPiece("short", 30 * INCH)] * 6
    stocks = [StickStock("8 ft", 96 * INCH, Decimal(5)), StickStock("10 ft", 120 * INCH, Decimal(6), 4)]
    plan = plan_sticks(pieces, stocks, KERF)
    assert verify_sticks(plan, pieces, stocks, KERF, 0) == ()
    # Each long piece takes one of the four 10 ft sticks whole; six short ones go three to an 8 ft stick.
    assert plan.cost == 4 * 6 + 2 * 5
    with pytest.raises(InputError, match="the limits cannot be met"):
        plan_sticks([*pieces, StickPiece("long", 100 * INCH)], stocks, KERF)


def test_sticks_at_no_price_are_used_up_first() -> None:
    pieces = [StickPiece("a", 40 * INCH)] * 5
    stocks = [StickStock("rest", 81 * INCH, Decimal(0), 2), StickStock("new", 96 * INCH, Decimal(4))]
    plan = plan_sticks(pieces, stocks, KERF)
    assert plan.cost == 4
    assert plan.proven


def test_fewer_patterns_are_preferred_at_the_same_cost() -> None:
    # Ten sticks of one 60 and one 30 hold everything without waste; so do mixed plans with more patterns.
    pieces = [StickPiece("a", 60)] * 10 + [StickPiece("b", 30)] * 10
    plan = plan_sticks(pieces, [StickStock("s", 90, Decimal(1))], 0)
    assert (len(plan.sticks), plan.patterns) == (10, 1)


def test_what_is_left_over_is_left_in_one_piece() -> None:
    # 3 sticks of 100 for 240: 60 is left, and only 40 + 40 + 20 on two sticks leaves it whole.
    pieces = [StickPiece("a", 40)] * 4 + [StickPiece("b", 20)] * 4
    plan = plan_sticks(pieces, [StickStock("s", 100, Decimal(1))], 0)
    assert max(stick.offcut for stick in plan.sticks) == 60


PROGRAM = """
import random
from decimal import Decimal
from estimator.cutting.plans import StickPiece, StickStock
from estimator.cutting.sticks.plan import plan_sticks
draw = random.Random(7)
pieces = [StickPiece(f"p{at}", draw.randint(100, 2300)) for at in range(120)]
stocks = [StickStock("a", 2400, Decimal("4.38")), StickStock("b", 3000, Decimal("5.60"))]
print(plan_sticks(pieces, stocks, 3))
"""


def test_two_processes_make_the_same_plan_to_the_letter() -> None:
    plans = {
        subprocess.run(
            [sys.executable, "-c", PROGRAM], env={"PYTHONHASHSEED": seed}, capture_output=True, check=True
        ).stdout
        for seed in ("1", "2")
    }
    assert len(plans) == 1
    assert len(plans.pop()) > 1000
