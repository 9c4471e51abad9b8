"""Cloth with a pattern: each cut grows to whole repeats.

Source: a published drapery how-to (read in an excerpt): cut = ceil(length / repeat) x repeat; 90 in finished
at a repeat of 27 in needs 108 in. Common widths of cloth: 54 in (read in an excerpt), 60 and 66 in (common
practice, no source).
"""

from estimator.core.units import INCH
from estimator.cutting.plans import RollPiece
from estimator.cutting.rolls.plan import plan_roll
from tests.layout.jobs import shipped


def test_a_cut_of_90_inches_at_a_repeat_of_27_takes_108() -> None:
    plan = plan_roll((RollPiece("curtain", 50 * INCH, 90 * INCH),), 54 * INCH, 27 * INCH)
    assert plan.length == 108 * INCH


def test_the_shipped_cloths_have_common_widths() -> None:
    widths = {i.width for i in shipped().items if i.kind == "fabric"}
    assert widths == {54 * INCH, 60 * INCH, 66 * INCH}
