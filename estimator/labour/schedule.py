"""The days of a job: who does what on which day, in the shop and on site.

Tasks start in the order of the longest chain that hangs on them, as soon as people are free. Work stops
at the end of the day and goes on the next; drying goes on overnight and on closed days. Every day on site
begins with a trip; a crew sets out only while half the day or more is left. Where a trip takes half a day
or more, the crew travels once and stays.
"""

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from itertools import pairwise

from estimator.catalogue.labour import WEEKDAYS, Calendar, LabourBook, Stage
from estimator.core.errors import refuse
from estimator.labour.day import DAY_MINUTES, Progress, Stint, Trip, work_day
from estimator.labour.network import MINUTES, critical_path, network, tails, whole_minutes

LONGEST_DAYS = 3660
NO_WAITS: Mapping[str, Decimal] = {}


@dataclass(frozen=True, slots=True)
class Crew:
    """Who works, and how long a day: people at the same time, hours a day."""

    people: int
    hours_per_day: Decimal


@dataclass(frozen=True, slots=True)
class Day:
    """A working day; `number` counts from 1, `date` is None where no start was given."""

    number: int
    date: dt.date | None
    stints: tuple[Stint, ...]

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
        """Return the trips to the site: one a day, or one a visit where the crew stays."""
        return self.visits if self.stay else self.days_on_site

    @property
    def days_in_shop(self) -> int:
        """Return the days on which someone works in the shop."""
        return sum(day.at("shop") for day in self.days)

    @property
    def days_on_site(self) -> int:
        """Return the days on which someone works on site, or travels there."""
        return sum(day.at("site") for day in self.days)

    @property
    def visits(self) -> int:
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


def plan_days(
    hours: Mapping[str, Decimal],
    book: LabourBook,
    crew: Crew,
    *,
    start: dt.date | None = None,
    waits: Mapping[str, Decimal] = NO_WAITS,
    coats: int = 1,
    trips: int = 1,
) -> Schedule:
    """Return the days of a job.

    Args:
        hours: of one person, by task; a task marked `daily` is what `trips` trips take.
        book: tasks, and the shop's closed days.
        crew: people and hours a day.
        start: first day; left out, days are only numbered and none is closed.
        waits: hours of drying or setting after a task, by task.
        coats: of paint.
        trips: that the hours of daily tasks were worked out for.

    Raises:
        InputError: the working day runs past midnight, or the job would take ten years.
    """
    work = begun(hours, book, crew, waits=waits, coats=coats, trips=trips)
    days = worked_days(work, book.calendar, start)
    steps = work.progress.steps
    critical = tuple(steps[n].label for n in critical_path(steps) if steps[n].minutes)
    return Schedule(days, critical, Decimal(max(work.tails)) / MINUTES, work.stay)


@dataclass(frozen=True, slots=True)
class Work:
    """A job about to be worked.

    Attributes:
        progress: none yet.
        tails: minutes of the longest chain from each step on.
        hours: start and end of a day, minutes after midnight.
        stay: the crew travels once.
    """

    progress: Progress
    tails: Sequence[int]
    hours: tuple[int, int]
    stay: bool


def begun(
    hours: Mapping[str, Decimal],
    book: LabourBook,
    crew: Crew,
    *,
    waits: Mapping[str, Decimal],
    coats: int,
    trips: int,
    count: Callable[[str, int], int] = lambda _, minutes: minutes,
) -> Work:
    """Return a job about to be worked; arguments and errors as `plan_days`.

    `count` gives the number that stands for the minutes of a task, from its key and those minutes.
    """
    first = int(book.calendar.start_hour * MINUTES)
    last = first + int(crew.hours_per_day * MINUTES)
    if last > DAY_MINUTES:
        raise refuse("hours_per_day", "the working day runs past midnight", "Start earlier or work less.")
    trip = _trip(hours, book, crew, max(trips, 1), count)
    stay = bool(trip.minutes) and trip.minutes + trip.minutes >= last - first
    daily = {t.key: Decimal(stay) / max(trips, 1) for t in book.tasks if t.daily}
    own = {key: amount * daily.get(key, Decimal(1)) for key, amount in hours.items()}
    steps = network(book, own, waits, crew=crew.people, coats=coats)
    counted = {t.key for t in book.tasks if stay or not t.daily}
    steps = tuple(replace(s, minutes=count(s.task, s.minutes)) if s.task in counted else s for s in steps)
    longest = tails(steps)
    progress = Progress(steps, longest, crew.people, Trip("", "", 0, 0) if stay else trip)
    return Work(progress, longest, (first, last), stay)


def _trip(
    hours: Mapping[str, Decimal], book: LabourBook, crew: Crew, trips: int, count: Callable[[str, int], int]
) -> Trip:
    """Return one trip: the daily tasks, one after the other."""
    labels: list[str] = []
    task, minutes, people = "", 0, 0
    for one in (t for t in book.tasks if t.daily):
        own, amount = min(one.crew, crew.people), hours.get(one.key, Decimal(0))
        minutes += count(one.key, whole_minutes(amount, own, trips))
        if amount:
            task, labels, people = task or one.key, [*labels, one.label], max(people, own)
    return Trip(task, "; ".join(labels), minutes, people)


def worked_days(work: Work, calendar: Calendar, start: dt.date | None) -> tuple[Day, ...]:
    """Work a job to its end; return its days.

    Raises:
        InputError: it would take ten years.
    """
    progress = work.progress
    days: list[Day] = []
    for day in range(LONGEST_DAYS):
        if progress.done:
            return tuple(days)
        date = start + dt.timedelta(days=day) if start else None
        if date is None or is_open(calendar, date):
            days.append(Day(len(days) + 1, date, work_day(progress, day, work.hours)))
    raise refuse("labour", "the job would take ten years", "Check quantities, rates and closed days.")
