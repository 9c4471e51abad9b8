"""The days of a job: who does what on which day, in the shop and on site; when what must be ordered.

Tasks start in the order of the longest chain that hangs on them, as soon as people are free. Every day on
site begins with a trip; where one takes half a day or more, the crew travels once and stays. As few people go
on a day as keep the days of the job and stand about less.
"""

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from itertools import pairwise

from estimator.catalogue.labour import JOURNEYS, WEEKDAYS, Calendar, LabourBook, LabourTask, Stage
from estimator.core.errors import Problem, refuse
from estimator.labour.network import MINUTES, critical_path, network, tails, whole_minutes
from estimator.labour.working_day import DAY_MINUTES, Hours, Progress, Stint, Trip, Worked, work_day

LONGEST_DAYS = 3660


@dataclass(frozen=True, slots=True)
class Crew:
    """Who works, and how long a day: people at the same time, hours a day."""

    people: int
    hours_per_day: Decimal


@dataclass(frozen=True, slots=True)
class Trips:
    """What the hours of daily tasks were worked out for: trips, and the people on all of them."""

    trips: int
    journeys: int


ONE_TRIP = Trips(1, 1)


@dataclass(frozen=True, slots=True)
class Day:
    """A working day; `number` counts from 1, `date` is None where no start was given."""

    number: int
    date: dt.date | None
    work: Worked

    @property
    def stints(self) -> tuple[Stint, ...]:
        """Return the work of the day."""
        return self.work.stints

    def at(self, stage: Stage) -> bool:
        """Return whether anyone works in the shop, or on site."""
        return any(s.stage == stage for s in self.stints)


@dataclass(frozen=True, slots=True)
class Schedule:
    """The days of a job.

    Attributes:
        days: every working day from the first to the last, also those on which only drying goes on.
        critical: labels of the steps of the longest chain, first to last: no larger crew is faster.
        critical_hours: by the clock, waits between them included.
        stay: a trip takes half a working day or more, so the crew stays and travels once.
    """

    days: tuple[Day, ...]
    critical: tuple[str, ...]
    critical_hours: Decimal
    stay: bool

    @property
    def trips(self) -> int:
        """Return the trips that are priced: one a day on site, or one a return where the crew stays."""
        return self.returns if self.stay else self.days_on_site

    @property
    def journeys(self) -> int:
        """Return the people on all trips, added up."""
        going = [day.work.going for day in self.days if day.at("site")]
        return self.returns * max(going, default=0) if self.stay else sum(going)

    @property
    def standing(self) -> int:
        """Return the minutes that people were on site and had nothing to do, added up over them."""
        return sum(day.work.standing for day in self.days)

    @property
    def days_in_shop(self) -> int:
        """Return the days on which someone works in the shop."""
        return sum(day.at("shop") for day in self.days)

    @property
    def days_on_site(self) -> int:
        """Return the days on which someone works on site, or travels there."""
        return sum(day.at("site") for day in self.days)

    @property
    def returns(self) -> int:
        """Return the unbroken runs of working days on site: once for each time the crew comes back."""
        there = [False, *(day.at("site") for day in self.days)]
        return sum(now and not before for before, now in pairwise(there))


def is_open(calendar: Calendar, date: dt.date) -> bool:
    """Return whether the shop works on a date."""
    return date not in calendar.closed_dates and WEEKDAYS[date.weekday()] not in calendar.closed_weekdays


def order_by(calendar: Calendar, start: dt.date, lead_days: int) -> dt.date:
    """Return the last date to order on, for delivery before `start`, `lead_days` working days later."""
    date, left = start, lead_days
    while left:
        date -= dt.timedelta(days=1)
        left -= is_open(calendar, date)
    return date


@dataclass(frozen=True, slots=True)
class ToPlan:
    """What the days of a job are planned from.

    Attributes:
        hours: of one person, by task; a task marked `daily` is what `trips` take.
        book: tasks, and the shop's closed days.
        crew: people and hours a day.
        start: first day; None, and days are only numbered and none is closed.
        waits: hours of drying or setting after a task, by task.
        coats: of paint.
        trips: that the hours of daily tasks were worked out for.
    """

    hours: Mapping[str, Decimal]
    book: LabourBook
    crew: Crew
    start: dt.date | None = None
    waits: Mapping[str, Decimal] = field(default_factory=dict)
    coats: int = 1
    trips: Trips = ONE_TRIP

    def spread_over(self, task: LabourTask) -> tuple[int, int]:
        """Return the people and the equal parts that the hours of a task are spread over."""
        people = min(task.crew, self.crew.people)
        if not task.daily:
            return people, max(self.coats, 1) if task.coats else 1
        if task.driver == JOURNEYS:
            return 1, max(self.trips.journeys, 1)
        return people, max(self.trips.trips, 1)


def plan_days(work: ToPlan) -> Schedule:
    """Return the days of a job.

    Raises:
        InputError: the working day runs past midnight, or the job would take ten years.
    """
    begin = begun(work)
    steps = begin.progress.steps
    days = worked_days(begin, work)
    if not begin.stay:
        days = _with_fewest(days, work)
    critical = tuple(steps[n].label for n in critical_path(steps))
    return Schedule(days, critical, Decimal(max(begin.tails, default=0)) / MINUTES, begin.stay)


Going = Mapping[int, int]
"""How many people go to the site, by the number of the day; everybody on other days."""
EVERYBODY: Going = {}


def _with_fewest(days: tuple[Day, ...], work: ToPlan) -> tuple[Day, ...]:
    """Return the days with as few people on site, day by day from the last, as make them no more or later."""
    going: dict[int, int] = {}
    for day in reversed([d for d in days if d.at("site")]):
        for fewer in range(1, work.crew.people):
            tried = worked_days(begun(work), work, {**going, day.number: fewer})
            if _counts(tried) == _counts(days) and _paid(tried) < _paid(days):
                going[day.number], days = fewer, tried
                break
    return days


def _counts(days: Sequence[Day]) -> tuple[int, int, int]:
    return len(days), sum(d.at("site") for d in days), sum(d.at("shop") for d in days)


def _paid(days: Sequence[Day]) -> int:
    """Return the minutes of all people on site, at work, on the way or standing."""
    stints = [s for d in days for s in d.stints if s.stage == "site"]
    return sum((s.end - s.start) * s.people for s in stints) + sum(d.work.standing for d in days)


@dataclass(frozen=True, slots=True)
class JobWork:
    """A job about to be worked.

    Attributes:
        progress: none yet.
        tails: minutes of the longest chain from each step on.
        hours: of a day.
        stay: the crew travels once.
    """

    progress: Progress
    tails: Sequence[int]
    hours: Hours
    stay: bool


def begun(work: ToPlan, count: Callable[[str, int], int] = lambda _, minutes: minutes) -> JobWork:
    """Return a job about to be worked; errors as `plan_days`.

    Args:
        work: what the days are planned from.
        count: gives the number that stands for the minutes of a task, from its key and those minutes.
    """
    day = _hours(work.book.calendar, work.crew)
    trip = _trip(work, count)
    stay = bool(trip.minutes) and trip.minutes + trip.minutes >= day.end - day.start - day.rest
    daily = {t.key: Decimal(stay) / max(work.trips.trips, 1) for t in work.book.tasks if t.daily}
    own = {key: amount * daily.get(key, Decimal(1)) for key, amount in work.hours.items()}
    steps = network(work.book, own, work.waits, crew=work.crew.people, coats=work.coats)
    steps = tuple(replace(s, minutes=count(s.task, s.minutes)) for s in steps)
    longest = tails(steps)
    progress = Progress(steps, longest, work.crew.people, Trip("", "", 0) if stay else trip)
    return JobWork(progress, longest, day, stay)


def _hours(calendar: Calendar, crew: Crew) -> Hours:
    first, rest_at, rest = (
        int(hours * MINUTES) for hours in (calendar.start_hour, calendar.break_hour, calendar.break_hours)
    )
    last = first + int(crew.hours_per_day * MINUTES)
    whole = bool(rest) and first < rest_at < last
    if last + rest * whole > DAY_MINUTES:
        raise refuse("hours_per_day", "the working day runs past midnight", "Start earlier or work less.")
    return Hours(first, last + rest, rest_at, rest) if whole else Hours(first, last, DAY_MINUTES, 0)


def _trip(work: ToPlan, count: Callable[[str, int], int]) -> Trip:
    """Return one trip: the daily tasks, one after the other."""
    labels: list[str] = []
    task, minutes = "", 0
    for one in (t for t in work.book.tasks if t.daily):
        if amount := work.hours.get(one.key, Decimal(0)):
            minutes += count(one.key, whole_minutes(amount, *work.spread_over(one)))
            task, labels = task or one.key, [*labels, one.label]
    return Trip(task, "; ".join(labels), minutes)


def worked_days(job: JobWork, work: ToPlan, going: Going = EVERYBODY) -> tuple[Day, ...]:
    """Work a job to its end; return its days.

    Raises:
        InputError: it would take ten years.
    """
    progress = job.progress
    days: list[Day] = []
    for day in range(LONGEST_DAYS):
        if progress.done:
            return tuple(days)
        date = work.start + dt.timedelta(days=day) if work.start else None
        if date is None or is_open(work.book.calendar, date):
            number = len(days) + 1
            people = going.get(number, progress.people)
            days.append(Day(number, date, work_day(progress, day, job.hours, people)))
    raise refuse("labour", "the job would take ten years", "Check quantities, rates and closed days.")


def order_dates(lead_days: Mapping[str, int], calendar: Calendar, first: dt.date) -> dict[str, dt.date]:
    """Return the last date to order each item on.

    Args:
        lead_days: working days from order to delivery, by item.
        calendar: the shop's closed days.
        first: first day of work.
    """
    return {item: order_by(calendar, first, days) for item, days in lead_days.items()}


def late_orders(dates: Mapping[str, dt.date], day: dt.date) -> tuple[Problem, ...]:
    """Return a warning where something would have to be ordered before `day`, () where nothing would."""
    late = sorted((date, item) for item, date in dates.items() if date < day)
    if not late:
        return ()
    date, item = late[0]
    what = f"{item} would have to be ordered by {date.isoformat()}, before the estimate"
    more = f"; as late: {', '.join(name for _, name in late[1:])}" if len(late) > 1 else ""
    fix = "Start later, or ask the supplier for a date."
    return (Problem("job.start", what + more, fix, severity="warning"),)
