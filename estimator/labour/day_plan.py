"""The schedule as tables: what the plan comes to, and who does what on which day."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from estimator.calc.expressions import Expr, call, if_, lift
from estimator.calc.tables import Draft, Table
from estimator.core.money import rounded
from estimator.labour.leeway import Leeway
from estimator.labour.network import MINUTES
from estimator.labour.schedule import Schedule

ONE = Decimal(1)


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
        ("plan_trips", "Trips priced", schedule.trips),
        ("plan_returns", "Times the crew comes back", schedule.returns),
    ):
        draft.decided(key, label, "day" if key.endswith(("days", "lead")) else "", [Decimal(value)], places=0)
    draft.decided("plan_for_hours", "Planned for hours of work", "h", [rounded(hours)])
    draft.decided("plan_hours", "Longest chain, drying included", "h", [schedule.critical_hours], places=1)
    return draft.table()


def _chain(schedule: Schedule) -> Table:
    draft = Draft("plan_chain", "The longest chain: each step waits for the one before")
    draft.keys([f"step_{n}" for n, _ in enumerate(schedule.critical, start=1)])
    draft.label("step", "Step", schedule.critical)
    return draft.table()


@dataclass(frozen=True, slots=True)
class Planned:
    """What the days are planned for of one task, and what its cells say now.

    Attributes:
        key, label: of its row.
        leeway: as planned.
        minutes: by the clock of a part of it, in the workbook.
        crew: in the workbook.
    """

    key: str
    label: str
    leeway: Leeway
    minutes: Expr
    crew: Expr


def planned_minutes(rows: Sequence[Planned], coats: tuple[int, Expr], at_once: int) -> Table:
    """Return the minutes that the days are planned for, as found and now, and the leeway that is used up.

    Args:
        rows: task by task.
        coats: of paint as planned, and the cell with the coats now.
        at_once: people there are.
    """
    note = "The days stand while the shares used add up to less than one; one more coat is a day anew."
    draft = Draft("days_as_run", "Minutes by the clock that the days are planned for", note=note)
    draft.keys([*(r.key for r in rows), "coats"], "Task")
    draft.label("task", "Task", [*(r.label for r in rows), "Coats of paint"])
    ways = [r.leeway for r in rows]
    people = draft.decided("people", "People", "", [Decimal(w.people) for w in ways] + [ONE], places=0)
    minutes = [Decimal(w.minutes) for w in ways]
    found = draft.decided("found", "When it ran", "min", [*minutes, Decimal(coats[0])], places=0)
    now = draft.each("now", "Now", "min", [*(r.minutes for r in rows), coats[1]], places=0)
    longer = draft.decided("longer", "Below this more", "min", [*(w.longer for w in ways), ONE])
    shorter = draft.decided("shorter", "Below this less", "min", [*(w.shorter for w in ways), ONE])
    most = draft.decided("at_once", "People there are", "", [Decimal(at_once)] * draft.count, places=0)
    at_work = [call("MIN", r.crew, most.at(i)).eq(people.at(i)) for i, r in enumerate(rows)]
    same = [if_(one, 0, call("MIN", found.at(i), 1)) for i, one in enumerate(at_work)]
    other = draft.each("crew_other", "Others at work (1 = yes)", "", [*same, lift(0)], places=0)
    used = call("MAX", (now - found) / longer, (found - now) / shorter)
    draft.formula("used", "Share of the leeway used", "", used + other, places=3)
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
    for key, label, texts in (
        ("day_task", "Task", [stint.label for _, stint in rows]),
        ("day_where", "Where", [stint.stage for _, stint in rows]),
        ("day_from", "From", [_clock(stint.start) for _, stint in rows]),
        ("day_to", "To", [_clock(stint.end) for _, stint in rows]),
    ):
        draft.label(key, label, texts)
    draft.decided("day_people", "People", "people", [Decimal(stint.people) for _, stint in rows], places=0)
    spent = [Decimal((s.end - s.start) * s.people) / MINUTES for _, s in rows]
    draft.decided("day_hours", "Hours of work", "h", spent)
    return draft.table()
