"""The days of a job: who does what on which day, in the shop and on site.

Tasks start in the order of the longest chain that hangs on them, as soon as people are free. Work stops
at the end of the day and goes on the next; drying goes on overnight and on closed days. Every day on site
begins with a trip; a crew sets out only while half the day or more is left. Where a trip takes half a day
or more, the crew travels once and stays.
"""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal
from itertools import pairwise

from estimator.catalogue.labour import WEEKDAYS, Calendar, LabourBook, Stage
from estimator.core.errors import refuse
from estimator.labour.day import DAY_MINUTES, Progress, Stint, Trip, work_day
from estimator.labour.network import MINUTES, critical_path, network, tails

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
    first = int(book.calendar.start_hour * MINUTES)
    last = first + int(crew.hours_per_day * MINUTES)
    if last > DAY_MINUTES:
        raise refuse("hours_per_day", "the working day runs past midnight", "Start earlier or work less.")
    trip = _trip(hours, book, crew, trips)
    stay = trip.minutes > 0 and 2 * trip.minutes >= last - first
    daily = {t.key: Decimal(stay) / max(trips, 1) for t in book.tasks if t.daily}
    own = {key: amount * daily.get(key, Decimal(1)) for key, amount in hours.items()}
    steps = network(book, own, waits, crew=crew.people, coats=coats)
    longest = tails(steps)
    progress = Progress(steps, longest, crew.people, Trip("", "", 0, 0) if stay else trip)
    days = _days(progress, book.calendar, start, (first, last))
    critical = tuple(steps[n].label for n in critical_path(steps) if steps[n].minutes)
    return Schedule(days, critical, Decimal(max(longest)) / MINUTES, stay)


def _trip(hours: Mapping[str, Decimal], book: LabourBook, crew: Crew, trips: int) -> Trip:
    """Return one trip: the daily tasks, one after the other."""
    daily = [t for t in book.tasks if t.daily and hours.get(t.key)]
    if not daily or not trips:
        return Trip("", "", 0, 0)
    minutes = sum((hours[t.key] * MINUTES / min(t.crew, crew.people) / trips for t in daily), Decimal(0))
    people = max(min(t.crew, crew.people) for t in daily)
    whole = int(minutes.quantize(Decimal("0.001")).to_integral_value(ROUND_CEILING))
    return Trip(daily[0].key, "; ".join(t.label for t in daily), whole, people)


def _days(
    progress: Progress, calendar: Calendar, start: dt.date | None, hours: tuple[int, int]
) -> tuple[Day, ...]:
    days: list[Day] = []
    for day in range(LONGEST_DAYS):
        if progress.done:
            return tuple(days)
        date = start + dt.timedelta(days=day) if start else None
        if date is None or is_open(calendar, date):
            days.append(Day(len(days) + 1, date, work_day(progress, day, hours)))
    raise refuse("labour", "the job would take ten years", "Check quantities, rates and closed days.")
