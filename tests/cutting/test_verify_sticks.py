"""The check of stick plans finds every planted fault."""

from collections.abc import Callable
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


def faults(plan: StickPlan) -> tuple[str, ...]:
    return tuple(problem.where for problem in verify_sticks(plan, PIECES, [STOCK], 3, 2))


def with_stick(at: int, stick: Stick) -> StickPlan:
    sticks = list(SOUND.sticks)
    sticks[at] = stick
    return replace(SOUND, sticks=tuple(sticks))


def test_a_sound_plan_passes() -> None:
    assert faults(SOUND) == ()


FAULTS: dict[str, tuple[Callable[[], StickPlan], str]] = {
    "a piece is missing": (lambda: with_stick(0, Stick(STOCK, PIECES[:1], 55)), "pieces"),
    "a piece too many": (lambda: replace(SOUND, sticks=(*SOUND.sticks, SOUND.sticks[1])), "pieces"),
    "another length": (lambda: with_stick(1, Stick(STOCK, (StickPiece("z", 80),), 15)), "pieces"),
    "over the end": (lambda: with_stick(1, Stick(STOCK, (PIECES[2], PIECES[1]), 0)), "sticks[1]"),
    "wrong offcut": (lambda: with_stick(0, replace(SOUND.sticks[0], offcut=25)), "sticks[0]"),
    "empty stick": (lambda: with_stick(0, Stick(STOCK, (), 98)), "sticks[0]"),
    "unknown stock": (
        lambda: with_stick(0, replace(SOUND.sticks[0], stock=replace(STOCK, key="b"))),
        "sticks[0]",
    ),
    "wrong cost": (lambda: replace(SOUND, cost=Decimal(5)), "cost"),
    "bound above cost": (lambda: replace(SOUND, bound=Decimal(7)), "bound"),
    "proven without proof": (lambda: replace(SOUND, bound=Decimal(5)), "proven"),
    "wrong patterns": (lambda: replace(SOUND, patterns=1), "patterns"),
    "another kerf": (lambda: replace(SOUND, kerf=0), "kerf"),
}


@pytest.mark.parametrize("fault", FAULTS)
def test_a_planted_fault_is_found(fault: str) -> None:
    plan, where = FAULTS[fault]
    assert where in faults(plan())


def test_more_than_the_limit_is_found() -> None:
    stock = replace(STOCK, limit=1)
    plan = replace(SOUND, sticks=tuple(replace(stick, stock=stock) for stick in SOUND.sticks))
    assert "stock 'a'" in [p.where for p in verify_sticks(plan, PIECES, [stock], 3, 2)]
