"""Published strip packing cases: rolls against the known least length.

Source: E. Hopper and B. C. H. Turton, EJOR 128 (2001) 34-57; see `strip_data`.
"""

import pytest
from _pytest.mark import ParameterSet

from estimator.core.units import MM
from estimator.cutting.rolls.plan import plan_roll
from estimator.cutting.verify.rolls import verify_roll
from tests.published.strip_data import StripCase, strip_cases

CASES = strip_cases()
GAP = {"C7": 0.08}
"""How far over the least length a plan may be; 5 % where the class is not named."""


def test_the_pieces_fill_their_rectangle() -> None:
    assert [case.name for case in CASES] == [f"C{n}" for n in range(1, 8)]
    for case in CASES:
        assert sum(width * length for width, length in case.sizes) == case.width * case.least_length


def some(cases: list[StripCase], quick: int) -> list[ParameterSet]:
    """Return the cases as parameters, those after the quick ones marked slow."""
    return [pytest.param(c, id=c.name, marks=[pytest.mark.slow][: i >= quick]) for i, c in enumerate(cases)]


@pytest.mark.parametrize("case", some(CASES, 3))
def test_turned_pieces_come_near_the_least_length(case: StripCase) -> None:
    pieces, width = case.pieces(), case.width * MM
    plan = plan_roll(pieces, width)
    assert verify_roll(plan, pieces, width) == ()
    assert plan.bound <= case.least_length * MM
    assert plan.length <= (1 + GAP.get(case.name, 0.05)) * case.least_length * MM


@pytest.mark.parametrize("case", some(CASES[:4], 1))
def test_without_turning_the_bound_still_holds(case: StripCase) -> None:
    pieces, width = case.pieces(may_turn=False), case.width * MM
    plan = plan_roll(pieces, width)
    assert verify_roll(plan, pieces, width) == ()
    assert plan.bound <= case.least_length * MM <= plan.length
