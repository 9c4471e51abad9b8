"""By how much minutes may move before the days do: by hand, and held against the plan itself."""

from dataclasses import replace
from decimal import Decimal as D
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.calc.tables import Draft, Table
from estimator.catalogue.labour import load_labour
from estimator.labour.day_plan import Planned, planned_minutes
from estimator.labour.leeway import MOST, Leeway, leeways
from estimator.labour.network import whole_minutes
from estimator.labour.schedule import Crew, Schedule, ToPlan, Trips, begun, plan_days, worked_days
from tests.labour.test_schedule import ONE, book, task

RATES = load_labour()
WAITS = {"prime": D(2), "paint": D(4)}


def ways_of(hours: dict[str, D], *given: Any, **rest: Any) -> tuple[Leeway, ...]:
    work = ToPlan(hours, *given, **rest)
    return leeways(work, plan_days(work))[0]


def by_task(*found: Leeway) -> dict[str, tuple[int, D, D]]:
    return {one.task: (one.minutes, one.longer, one.shorter) for one in found}


def test_a_day_of_eight_hours_takes_an_hour_and_a_quarter_more_than_seven() -> None:
    """Of 480 min, 420 are worked: 495 are a day still, 76 more are not; from 1 min on there is work."""
    assert by_task(*ways_of({"cut": D(7)}, book(task("cut")), ONE)) == {"cut": (420, D(76), D(420))}


def test_work_that_the_job_has_none_of_has_no_leeway() -> None:
    found = by_task(*ways_of({"cut": D(1)}, book(task("cut"), task("wrap")), ONE))
    assert found["wrap"] == (0, D(1), MOST)


def test_a_trip_a_day_leaves_less_of_every_day() -> None:
    """Each day 480 min less 60 of travel: 800 min of work fill 420 and 380, so 55 more, or 27 a trip."""
    tasks = book(task("drive", daily=True, stage="site"), task("hang", stage="site"))
    found = by_task(*ways_of({"drive": D(2), "hang": D(800) / 60}, tasks, ONE, trips=Trips(2, 2)))
    assert found["hang"][:2] == (800, D(56))
    assert found["drive"][:2] == (60, D(28))
    assert found["hang"][2] == D(365)


def counts(plan: Schedule) -> tuple[int, ...]:
    return len(plan.days), plan.days_in_shop, plan.days_on_site, plan.returns


factors = st.decimals("0.6", "1.5", places=2)


@settings(max_examples=150, deadline=None)
@given(
    st.lists(st.integers(0, 900), min_size=len(RATES.tasks), max_size=len(RATES.tasks)),
    st.dictionaries(st.integers(0, len(RATES.tasks) - 1), factors, min_size=1, max_size=5),
    st.integers(1, 3),
)
def test_the_days_stand_while_less_than_the_leeway_is_used(
    minutes: list[int], moved: dict[int, D], people: int
) -> None:
    hours = {t.key: D(m) / 60 for t, m in zip(RATES.tasks, minutes, strict=True)}
    work = ToPlan(hours, RATES, Crew(people, D(8)), None, WAITS, 2, Trips(3, 3 * people))
    plan = plan_days(work)
    ways, standing = leeways(work, plan)
    new = {key: h * moved.get(i, D(1)) for i, (key, h) in enumerate(hours.items())}
    used = D(0)
    for way in ways:
        more = whole_minutes(new[way.task], way.people, way.parts) - way.minutes
        used += D(more) / way.longer if more > 0 else D(-more) / way.shorter
    if used < 1:
        going = {day.number: day.work.going for day in plan.days if day.work.going}
        moved_on = replace(work, hours=new)
        then = replace(plan, days=worked_days(begun(moved_on), moved_on, going))
        assert counts(then) == counts(plan)
        now = {w.task: whole_minutes(new[w.task], w.people, w.parts) for w in ways}
        stood = standing.fixed + sum(slope * now[t] for t, slope in standing.each.items())
        assert stood == then.standing


def table_of(minutes: D, crew: D, coats: D) -> Table:
    now = Draft("now", "Now", "across")
    cells = [now.decided(key, key, "", [v]) for key, v in (("m", minutes), ("c", crew), ("k", coats))]
    now.table()
    way = Leeway("paint", 90, 2, 2, D(21), D(30))
    row = Planned("paint", "Paint", way, cells[0].at(), cells[1].at())
    return planned_minutes([row], (2, cells[2].at()), 3)


def test_what_is_used_of_a_leeway_stands_in_the_workbook() -> None:
    """Of 90 min, 105 are 15 of 21 more, and 75 are 15 of 30 less."""
    assert table_of(D(90), D(2), D(2))["used"].values == (D(0), D(0))
    assert table_of(D(105), D(2), D(2))["used"].values == (D(15) / 21, D(0))
    assert table_of(D(75), D(2), D(2))["used"].values == (D(15) / 30, D(0))
    assert table_of(D(90), D(1), D(2))["used"].values == (D(1), D(0))
    assert table_of(D(90), D(2), D(3))["used"].values == (D(0), D(1))
