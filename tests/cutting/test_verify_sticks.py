"""The check of stick plans finds every planted fault."""

from dataclasses import replace
from decimal import Decimal

import pytest

from estimator.cutting.plans import Stick, StickPiece, StickPlan, StickStock
from estimator.cutting.verify.sticks import verify_sticks

STOCK = StickStock("a", 100, Decimal(3), 2)
PIECES = (StickPiece("x", 40), StickPiece("y", 30), StickPiece("z", 90))
# Trim 2: 2 + 40 + 3 + 30 + 3 leaves 22; 2 + 90 + 3 leaves 5.
SOUND = StickPlan(
    (Stick(STOCK, PIECES[:2], 22), Stick(STOCK, PIECES[2:], 5)),
    kerf=3, end_trim=2, cost=Decimal(6), bound=Decimal(6), proven=True, patterns=2, method="by hand",
)  # fmt: skip


def faults(plan: StickPlan) -> list[tuple[str, str]]:
    found = verify_sticks(plan, PIECES, [STOCK], 3, 2)
    assert {problem.fix for problem in found} <= {"The plan is wrong and must not be cut."}
    return [(problem.where, problem.what) for problem in found]


def with_stick(at: int, stick: Stick) -> StickPlan:
    sticks = list(SOUND.sticks)
    sticks[at] = stick
    return replace(SOUND, sticks=tuple(sticks))


def test_a_sound_plan_passes() -> None:
    assert faults(SOUND) == []


FAULTS: dict[str, tuple[StickPlan, str]] = {
    "1 of 'y', 30 nm, are not cut": (with_stick(0, Stick(STOCK, PIECES[:1], 55)), "pieces"),
    "1 of 'z', 90 nm, are cut and not wanted": (
        replace(SOUND, sticks=(*SOUND.sticks, SOUND.sticks[1])),
        "pieces",
    ),
    "1 of 'z', 90 nm, are not cut": (with_stick(1, Stick(STOCK, (StickPiece("z", 80),), 15)), "pieces"),
    "piece 'y' ends 25 nm beyond the stick": (
        with_stick(1, Stick(STOCK, (PIECES[2], PIECES[1]), 0)),
        "sticks[1]",
    ),
    "the offcut is said to be 25 nm and is 22 nm": (
        with_stick(0, replace(SOUND.sticks[0], offcut=25)),
        "sticks[0]",
    ),
    "nothing is cut from it": (with_stick(0, Stick(STOCK, (), 98)), "sticks[0]"),
    "stock 'b' is not on the list": (
        with_stick(0, replace(SOUND.sticks[0], stock=replace(STOCK, key="b"))),
        "sticks[0]",
    ),
    "said to be 5 and is 6": (replace(SOUND, cost=Decimal(5)), "cost"),
    "7 is above the cost 6": (replace(SOUND, bound=Decimal(7)), "bound"),
    "the bound 5 does not reach the cost 6": (replace(SOUND, bound=Decimal(5)), "proven"),
    "said to be 1 and are 2": (replace(SOUND, patterns=1), "patterns"),
    "kerf or end trim are not those asked for": (replace(SOUND, kerf=0), "kerf"),
}


@pytest.mark.parametrize("what", FAULTS)
def test_a_planted_fault_is_found(what: str) -> None:
    plan, where = FAULTS[what]
    assert (where, what) in faults(plan)


def test_a_bound_below_the_cost_is_no_fault_without_proof() -> None:
    assert faults(replace(SOUND, bound=Decimal(5), proven=False)) == []


def test_a_last_cut_at_the_end_of_the_stick_leaves_nothing() -> None:
    """Trim 2 and 95 leave 3 for the cut; 2 and 98 leave nothing, and the last cut is not made."""
    for length in (95, 98):
        piece = StickPiece("w", length)
        plan = replace(
            SOUND, sticks=(Stick(STOCK, (piece,), 0),), cost=Decimal(3), bound=Decimal(3), patterns=1
        )
        assert verify_sticks(plan, [piece], [STOCK], 3, 2) == ()


def test_more_than_the_limit_is_found() -> None:
    stock = replace(STOCK, limit=1)
    plan = replace(SOUND, sticks=tuple(replace(stick, stock=stock) for stick in SOUND.sticks))
    found = verify_sticks(plan, PIECES, [stock], 3, 2)
    assert [(p.where, p.what) for p in found] == [("stock 'a'", "2 are used of 1")]
    assert verify_sticks(plan, PIECES, [stock, stock], 3, 2) == ()
