"""The plan of days: by hand, by what must hold of any plan, and the critical path against networkx."""

import datetime as dt
from decimal import Decimal as D
from itertools import pairwise
from typing import Any

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.catalogue.labour import LabourBook, load_labour
from estimator.core.errors import InputError
from estimator.labour.day_plan import schedule_tables
from estimator.labour.network import MINUTES, Step, critical_path, network, tails
from estimator.labour.schedule import Crew, Schedule, ToPlan, Trips, order_by, plan_days
from estimator.labour.working_day import STAY_ON

FRIDAY = dt.date(2026, 11, 27)
ONE, TWO = Crew(1, D(8)), Crew(2, D(8))
BASIS = {"likely_weight": 4, "parts": 6, "z_eighty": 0.84, "z_ninety_five": 1.64,
         "expectation_source": "x", "chance_source": "x"}  # fmt: skip
WAGE = {"key": "joiner", "label": "Joiner", "wage": 30, "burden": "28 %", "billable": "85 %", "source": "x"}


def task(key: str, after: tuple[str, ...] = (), **changes: Any) -> dict[str, Any]:
    plain = {"key": key, "label": key, "stage": "shop", "driver": "job", "unit": "each", "low": 1,
             "likely": 1, "high": 1, "wage": "joiner", "source": "x", "after": after}  # fmt: skip
    return plain | ({"driver": "visits"} if changes.get("daily") else {}) | changes


def book(*tasks: dict[str, Any], **calendar: Any) -> LabourBook:
    days = {
        "start_hour": 8,
        "closed_weekdays": ["Saturday", "Sunday"],
        "break_hours": 0,
        "source": "x",
    } | calendar
    body = {
        "schema": 1,
        "name": "t",
        "basis": BASIS,
        "calendar": days,
        "learning": {"prior_jobs": 5, "source": "x"},
        "wage": [WAGE],
        "task": tasks,
    }
    return LabourBook.model_validate(body)


def planned(*given: Any, **rest: Any) -> Schedule:
    return plan_days(ToPlan(*given, **rest))


def lines(schedule: Schedule) -> list[tuple[int, str, str, str]]:
    def clock(minute: int) -> str:
        return f"{minute // 60}:{minute % 60:02}"

    return [(d.number, s.label, clock(s.start), clock(s.end)) for d in schedule.days for s in d.stints]


def test_work_stops_at_the_end_of_the_day_and_goes_on_after_the_weekend() -> None:
    plan = planned({"wrap": D(10)}, book(task("wrap")), ONE, start=FRIDAY)
    assert lines(plan) == [(1, "wrap", "8:00", "16:00"), (2, "wrap", "8:00", "10:00")]
    assert [d.date for d in plan.days] == [FRIDAY, dt.date(2026, 11, 30)]


def test_a_closed_date_is_skipped() -> None:
    plan = planned(
        {"wrap": D(10)}, book(task("wrap"), closed_dates=[dt.date(2026, 11, 30)]), ONE, start=FRIDAY
    )
    assert plan.days[1].date == dt.date(2026, 12, 1)


def test_drying_passes_overnight() -> None:
    tasks = book(task("prime"), task("paint", ("prime",)))
    # Primed until 15:00; 4 h of drying end at 19:00, after work: painting begins in the morning.
    plan = planned({"prime": D(7), "paint": D(2)}, tasks, TWO, waits={"prime": D(4)})
    assert lines(plan) == [(1, "prime", "8:00", "15:00"), (2, "paint", "8:00", "10:00")]
    # Primed until 10:00; dry at 14:00 the same day.
    plan = planned({"prime": D(2), "paint": D(2)}, tasks, TWO, waits={"prime": D(4)})
    assert lines(plan)[1] == (1, "paint", "14:00", "16:00")


def test_a_day_of_drying_alone_is_a_day_of_the_plan() -> None:
    tasks = book(task("prime"), task("paint", ("prime",)))
    plan = planned({"prime": D(8), "paint": D(2)}, tasks, ONE, waits={"prime": D(40)})
    assert [len(d.stints) for d in plan.days] == [1, 0, 1]


def test_each_coat_waits_for_the_one_before() -> None:
    plan = planned({"paint": D(4)}, book(task("paint", coats=True)), ONE, waits={"paint": D(4)}, coats=2)
    assert lines(plan) == [
        (1, "paint, coat 1 of 2", "8:00", "10:00"),
        (1, "paint, coat 2 of 2", "14:00", "16:00"),
    ]


def test_two_people_halve_what_two_do_together_and_work_side_by_side() -> None:
    tasks = book(task("hang", crew=2), task("cut"), task("sew"))
    assert planned({"hang": D(4)}, tasks, TWO).days[0].stints[0].end == 10 * 60
    assert planned({"hang": D(4)}, tasks, ONE).days[0].stints[0].end == 12 * 60
    both = planned({"cut": D(3), "sew": D(2)}, tasks, TWO)
    assert lines(both) == [(1, "cut", "8:00", "11:00"), (1, "sew", "8:00", "10:00")]


def test_a_task_the_job_has_nothing_of_still_passes_the_order_on() -> None:
    tasks = book(task("cut"), task("bevel", ("cut",)), task("join", ("bevel",)))
    plan = planned({"cut": D(1), "join": D(1)}, tasks, TWO, waits={"bevel": D(99)})
    assert lines(plan) == [(1, "cut", "8:00", "9:00"), (1, "join", "9:00", "10:00")]


def test_every_day_on_site_begins_with_a_trip() -> None:
    tasks = book(task("pack"), task("travel", ("pack",), stage="site", daily=True, crew=2),
                 task("hang", ("travel",), stage="site"))  # fmt: skip
    plan = planned({"pack": D(2), "travel": D(4), "hang": D(9)}, tasks, TWO, trips=Trips(2, 2))
    assert lines(plan) == [
        (1, "pack", "8:00", "10:00"), (1, "travel", "10:00", "11:00"), (1, "hang", "11:00", "16:00"),
        (2, "travel", "8:00", "9:00"), (2, "hang", "9:00", "13:00"),
    ]  # fmt: skip
    assert (plan.days_in_shop, plan.days_on_site, plan.returns) == (1, 2, 1)


def test_a_crew_that_travels_half_a_day_stays() -> None:
    tasks = book(task("travel", stage="site", daily=True, crew=2), task("hang", ("travel",), stage="site"))
    plan = planned({"travel": D(20), "hang": D(10)}, tasks, TWO, trips=Trips(2, 2))
    assert lines(plan) == [
        (1, "travel", "8:00", "13:00"), (1, "hang", "13:00", "16:00"), (2, "hang", "8:00", "15:00"),
    ]  # fmt: skip
    assert (plan.stay, plan.trips, plan.days_on_site) == (True, 1, 2)


def test_no_trips_take_no_time() -> None:
    tasks = book(task("travel", stage="site", daily=True), task("hang", ("travel",), stage="site"))
    assert lines(planned({"hang": D(1)}, tasks, TWO)) == [(1, "hang", "8:00", "9:00")]


def test_nobody_sets_out_late_in_the_day() -> None:
    tasks = book(task("pack"), task("travel", ("pack",), stage="site", daily=True),
                 task("hang", ("travel",), stage="site"))  # fmt: skip
    plan = planned({"pack": D(5), "travel": D(1), "hang": D(1)}, tasks, TWO)
    assert lines(plan)[1:] == [(2, "travel", "8:00", "9:00"), (2, "hang", "9:00", "10:00")]


def test_coming_back_after_drying_is_a_second_visit() -> None:
    tasks = book(task("fill", stage="site"), task("paint", ("fill",), stage="site"))
    plan = planned({"fill": D(1), "paint": D(1)}, tasks, TWO, waits={"fill": D(48)})
    assert (plan.days_on_site, plan.returns) == (2, 2)
    # A weekend between two working days is not a second visit.
    plan = planned({"fill": D(8), "paint": D(1)}, tasks, TWO, waits={"fill": D(4)}, start=FRIDAY)
    assert (plan.days_on_site, plan.returns) == (2, 1)


def test_order_in_time_for_the_start() -> None:
    calendar = book(task("cut")).calendar
    assert order_by(calendar, dt.date(2026, 12, 2), 5) == dt.date(2026, 11, 25)
    assert order_by(calendar, dt.date(2026, 12, 2), 0) == dt.date(2026, 12, 2)


@pytest.mark.parametrize(("crew", "hours", "what"), [
    (Crew(1, D(17)), {"cut": D(1)}, "past midnight"),
    (ONE, {"cut": D(40_000)}, "ten years"),
])  # fmt: skip
def test_days_that_cannot_be_planned_are_refused(crew: Crew, hours: dict[str, D], what: str) -> None:
    tasks = book(task("cut"), task("travel", stage="site", daily=True))
    with pytest.raises(InputError, match=what):
        planned(hours, tasks, crew)


# --- what must hold of any plan -------------------------------------------------------------------------


@st.composite
def networks(draw: st.DrawFn) -> tuple[Step, ...]:
    steps: list[Step] = []
    for n in range(draw(st.integers(1, 12))):
        after = draw(st.lists(st.integers(0, n - 1), max_size=3, unique=True)) if n else []
        minutes, wait = draw(st.integers(0, 900)), draw(st.sampled_from([0, 0, 60, 240, 1500]))
        people = draw(st.integers(1, 3))
        steps.append(Step(f"t{n}", f"t{n}", "shop", minutes, people, tuple(after), wait if minutes else 0))
    return tuple(steps)


@settings(max_examples=200, deadline=None)
@given(networks())
def test_critical_path_is_the_longest_path_of_networkx(steps: tuple[Step, ...]) -> None:
    graph: nx.DiGraph[int | str] = nx.DiGraph()
    for n, step in enumerate(steps):
        graph.add_edge(n, "end", weight=step.minutes)
        for before in step.after:
            graph.add_edge(before, n, weight=steps[before].minutes + steps[before].wait)
    longest = nx.dag_longest_path_length(graph)
    assert max(tails(steps)) == longest
    chain = critical_path(steps)
    assert sum(steps[n].minutes for n in chain) + sum(steps[n].wait for n in chain[:-1]) == longest
    assert all(nx.has_path(graph, a, b) for a, b in pairwise(chain))


def as_book(steps: tuple[Step, ...]) -> LabourBook:
    return book(*(
        task(s.task, tuple(steps[b].task for b in s.after), crew=s.people, stage="shop" if n < 6 else "site")
        for n, s in enumerate(steps)
    ))  # fmt: skip


@settings(max_examples=100, deadline=None)
@given(networks(), st.integers(1, 3), st.integers(4, 12))
def test_any_plan_keeps_order_waits_people_and_hours(steps: tuple[Step, ...], people: int, day: int) -> None:
    hours = {s.task: D(s.minutes * s.people) / 60 for s in steps}
    waits = {s.task: D(s.wait) / 60 for s in steps}
    tasks = as_book(steps)
    plan = planned(hours, tasks, Crew(people, D(day)), start=FRIDAY, waits=waits)
    marks = [
        ((d.date - FRIDAY).days * 1440 + s.start, (d.date - FRIDAY).days * 1440 + s.end, s)
        for d in plan.days if d.date is not None for s in d.stints
    ]  # fmt: skip
    wanted = network(tasks, hours, waits, crew=people, coats=1)
    for step in wanted:
        own = [(a, b) for a, b, s in marks if s.task == step.task]
        assert sum(b - a for a, b in own) == step.minutes
        for before in step.after:
            ends = [b for a, b, s in marks if s.task == wanted[before].task]
            if own and ends:
                assert own[0][0] >= max(ends) + wanted[before].wait
    for mark in {a for a, _, _ in marks}:
        assert sum(s.people for a, b, s in marks if a <= mark < b) <= people
    assert all(8 * 60 <= a % 1440 < b - (a - a % 1440) <= (8 + day) * 60 + STAY_ON for a, b, _ in marks)
    assert all(d.date is not None and d.date.weekday() < 5 for d in plan.days)
    assert plan.critical_hours == D(max(tails(wanted), default=0)) / 60


def test_shipped_tasks_can_be_planned() -> None:
    rates = load_labour()
    hours = {t.key: D(1) for t in rates.tasks}
    plan = planned(hours, rates, TWO, waits={"paint": D(4)}, coats=2)
    minutes = sum((s.end - s.start) * s.people for d in plan.days for s in d.stints if s.task != "travel")
    assert minutes == sum(60 for t in rates.tasks if t.planned and not t.daily)
    assert MINUTES == 60
    assert plan.critical[-1] == "Take off masking, check, photograph, hand over"


def test_the_plan_as_tables_has_every_hour() -> None:
    tasks = book(task("cut"), task("hang", ("cut",), stage="site", crew=2))
    form, chain, plan = schedule_tables(planned({"cut": D(9), "hang": D(3)}, tasks, TWO, start=FRIDAY), 10)
    assert chain["step"].values == ("cut", "hang")
    assert form.value("plan_lead") == 10
    assert [form.value(k) for k in ("plan_days", "plan_shop_days", "plan_site_days", "plan_returns")] == [
        2,
        2,
        1,
        1,
    ]
    assert plan["day_hours"].values == (D(8), D(1), D(3))
    assert plan["day_from"].values == ("8:00", "8:00", "9:00")
    assert plan["day_to"].values == ("16:00", "9:00", "10:30")
