"""Two estimates side by side: every figure is that of the one and of the other, and nothing is left out."""

from decimal import Decimal as D
from functools import cache

import pytest

from estimator.core.errors import InputError
from estimator.pipeline import Estimate, estimate
from estimator.tables.compare import Comparison, compare, party
from tests.examples import estimate_of as one
from tests.examples import loaded

HIGHER = {"frames.height.N1": D(60)}


@cache
def changed() -> Estimate:
    """Return a rehearsal room with the outlet's wall left out and an option added."""
    job, catalogue = loaded("rehearsal_room")
    return estimate(job.model_copy(update={"wall": job.walls[:1]}), catalogue)


def side_by_side(before: Estimate, after: Estimate) -> Comparison:
    return compare(before, after, (party("before", before), party("after", after)))


def test_an_estimate_against_itself_is_nothing() -> None:
    same = side_by_side(one("chapel_annex"), one("chapel_annex"))
    assert same.nothing
    assert len(same.options) == 2
    assert same.lines


def test_a_wall_left_out() -> None:
    before, after = one("rehearsal_room"), changed()
    found = side_by_side(before, after)
    assert [d.where for d in found.scope] == ["wall[E]"]
    gone = [f.name for f in before.scope.layout.frames if f.host == "E"]
    assert [f.name for f in found.frames if f.after is None] == gone
    kept = [f for f in found.frames if f.after]  # the frame in the corner no longer meets the other wall
    assert [f.name for f in kept] == ["N5"]
    costs = [line.change for line in found.lines]
    assert sum(costs) == after.totals.materials - before.totals.materials
    assert found.price.change == after.totals.price - before.totals.price < 0
    assert found.total.after == after.totals.total
    hours = next(m for m in found.days if m.key == "hours")
    assert hours.after == sum(after.scope.labour.hours.values())
    assert float(sum(m.change for m in found.labour)) == pytest.approx(float(hours.change))
    # Bare plasterboard takes more of the lowest octaves than a thin panel; above them the panels count.
    assert all(o.absorption_m2[1] < o.absorption_m2[0] for o in found.octaves if o.hz >= 500)
    assert found.treated_m2[1] < found.treated_m2[0]


def test_turned_round_every_change_has_the_other_sign() -> None:
    there = side_by_side(one("rehearsal_room"), changed())
    back = side_by_side(changed(), one("rehearsal_room"))
    assert {m.key: m.change for m in there.totals} == {m.key: -m.change for m in back.totals}
    assert {x.key: x.change for x in there.lines} == {x.key: -x.change for x in back.lines}


def test_a_frame_of_another_size_is_shown_with_both() -> None:
    job, catalogue = loaded("one_panel")
    found = side_by_side(one("one_panel"), estimate(job, catalogue, HIGHER))
    (frame,) = found.frames
    assert frame.before
    assert frame.after
    assert (frame.before.height, frame.after.height) == (84 * 25_400_000, 60 * 25_400_000)
    assert found.scope == ()
    assert not found.nothing


def test_two_currencies_are_refused() -> None:
    with pytest.raises(InputError, match="Nothing is converted") as refused:
        side_by_side(one("one_panel"), one("voice_booth"))
    assert [p.where for p in refused.value.problems] == ["job.currency", "job.display"]
