"""The schedule as tables: what the plan comes to, and who does what on which day."""

from decimal import Decimal

from estimator.calc.expressions import call, lift
from estimator.calc.tables import Draft, Table
from estimator.core.money import rounded
from estimator.labour.network import MINUTES
from estimator.labour.schedule import Schedule

_LAST_BIT = 6


def schedule_tables(
    schedule: Schedule, lead_days: int = 0, hours: Decimal = Decimal(0)
) -> tuple[Table, Table, Table]:
    """Return the form of days and visits, the longest chain, and the plan day by day; decided values all.

    Args:
        schedule: of the job.
        lead_days: working days that the slowest delivery takes.
        hours: expected hours of work that the days were planned for.
    """
    return _form(schedule, lead_days, hours), _chain(schedule), _plan(schedule)


def _form(schedule: Schedule, lead_days: int, hours: Decimal) -> Table:
    note = "Planned for the expected hours; run the program again when they change much."
    draft = Draft("schedule", "Days", "across", note=note)
    for key, label, value in (
        ("plan_lead", "Slowest delivery, working days before the first day", lead_days),
        ("plan_days", "Working days from first to last", len(schedule.days)),
        ("plan_shop_days", "Days with work in the shop", schedule.days_in_shop),
        ("plan_site_days", "Days on site", schedule.days_on_site),
        ("plan_visits", "Visits", schedule.visits),
    ):
        draft.decided(key, label, "day" if key != "plan_visits" else "", [Decimal(value)], places=0)
    draft.decided("plan_for_hours", "Planned for hours of work", "h", [rounded(hours)])
    draft.decided("plan_hours", "Longest chain, drying included", "h", [schedule.critical_hours], places=1)
    return draft.table()


def _chain(schedule: Schedule) -> Table:
    draft = Draft("plan_chain", "The longest chain: each step waits for the one before")
    draft.keys([f"step_{n}" for n, _ in enumerate(schedule.critical, start=1)])
    draft.label("step", "Step", schedule.critical)
    return draft.table()


def planned_hours(labour: Table) -> Table:
    """Return the hours by the clock that the days are planned for, task by task, as found and as now.

    Args:
        labour: the tasks, whose hours and crews move them; each row beside one of this.
    """
    draft = Draft("days_as_run", "Hours by the clock that the days are planned for")
    draft.keys([str(key) for key in labour["key"].values], "Task")
    draft.label("task", "Task", labour["labour_task"].values)
    clock = labour["clock"]
    hours = [rounded(hours, _LAST_BIT) for hours in clock.values if isinstance(hours, Decimal)]
    found = draft.decided("found", "When it ran", "h", hours)
    now = draft.formula("now", "Now", "h", lift(clock))
    draft.formula("off", "Apart", "h", call("MAX", now - found, found - now))
    return draft.table()


def _clock(minute: int) -> str:
    return f"{minute // MINUTES}:{minute % MINUTES:02}"


def _plan(schedule: Schedule) -> Table:
    rows = [(day, stint) for day in schedule.days for stint in day.stints]
    draft = Draft("day_plan", "Day by day")
    draft.keys([f"day_{day.number}_{n}" for n, (day, _) in enumerate(rows, start=1)])
    draft.label("day_name", "Day", [f"Day {day.number}" for day, _ in rows])
    if any(day.date for day, _ in rows):
        draft.label("day_date", "Date", [day.date for day, _ in rows])
    draft.label("day_task", "Task", [stint.label for _, stint in rows])
    draft.label("day_where", "Where", [stint.stage for _, stint in rows])
    draft.label("day_from", "From", [_clock(stint.start) for _, stint in rows])
    draft.label("day_to", "To", [_clock(stint.end) for _, stint in rows])
    draft.decided("day_people", "People", "people", [Decimal(stint.people) for _, stint in rows], places=0)
    spent = [Decimal((s.end - s.start) * s.people) / MINUTES for _, s in rows]
    draft.decided("day_hours", "Hours of work", "h", spent)
    return draft.table()
