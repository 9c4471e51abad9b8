"""The days of a job: who does what on which day, in the shop and on site.

Tasks start in the order of the longest chain that hangs on them, as soon as people are free. Work stops
at the end of the day and goes on the next; drying goes on overnight and on closed days. Every day on site
begins with a trip; a crew sets out only while half the day or more is left. Where a trip takes half a day
or more, the crew travels once and stays.

The last day on which each thing must be ordered, so that it is there on the first day of work.

One working day: which steps run when, with the people there are.
"""

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from itertools import pairwise

from estimator.catalogue.labour import WEEKDAYS, Calendar, LabourBook, Stage
from estimator.core.errors import Problem, refuse
from estimator.labour.network import MINUTES, Step, critical_path, network, tails, whole_minutes

DAY_MINUTES = 24 * MINUTES


@dataclass(frozen=True, slots=True)
class Stint:
    """Unbroken work on one step; `start` and `end` are minutes after midnight."""

    task: str
    label: str
    stage: Stage
    start: int
    end: int
    people: int


@dataclass(frozen=True, slots=True)
class Trip:
    """What begins every day on site: minutes by the clock and people; no minutes, no trip."""

    task: str
    label: str
    minutes: int
    people: int


class Progress:
    """How far a job has come; it changes as days are worked."""

    def __init__(self, steps: Sequence[Step], tails: Sequence[int], people: int, trip: Trip) -> None:
        self.steps = steps
        self.people = people
        self.trip = trip
        self.left = [s.minutes for s in steps]
        self.ended: list[int | None] = [None] * len(steps)
        self._tails = tails
        self._ready: dict[int, int] = {}
        self._settle()

    @property
    def done(self) -> bool:
        """Return whether every step has ended."""
        return None not in self.ended

    def ready(self, step: int) -> int | None:
        """Return the minute, from midnight of the first day, from which a step may start."""
        if step not in self._ready:
            ends = [(self.ended[n], self.steps[n].wait) for n in self.steps[step].after]
            if any(end is None for end, _ in ends):
                return None
            self._ready[step] = max((end + wait for end, wait in ends if end is not None), default=0)
        return self._ready[step]

    def _settle(self) -> None:
        """End the steps that the job has nothing of as soon as those before them have ended."""
        for n, step in enumerate(self.steps):
            if self.ended[n] is None and not step.minutes:
                self.ended[n] = self.ready(n)

    def open_steps(self) -> list[tuple[int, int]]:
        """Return minute and position of every step that could start sometime, those begun first."""
        waiting = (n for n, ended in enumerate(self.ended) if ended is None)
        found = [(at, n) for n in waiting if (at := self.ready(n)) is not None]
        return sorted(found, key=lambda pair: self._turn(pair[1]))

    def _turn(self, step: int) -> tuple[bool, int, int]:
        """Return what puts a step before another: it is begun, or the longer chain hangs on it."""
        return self.left[step] == self.steps[step].minutes, -self._tails[step], step

    def work(self, step: int, minutes: int, until: int) -> None:
        """Take `minutes` off a step; `until` is when they end."""
        self.left[step] -= minutes
        if not self.left[step]:
            self.ended[step] = until
            self._settle()


class _Shift:
    """A day being worked through, minute marks from midnight."""

    def __init__(self, progress: Progress, day: int, hours: tuple[int, int]) -> None:
        self.progress = progress
        self.midnight = day * DAY_MINUTES
        self.now, self.end = hours
        self.latest_start = (self.now + self.end) // 2
        self.there = not progress.trip.minutes
        self.stints: list[Stint] = []

    def run(self) -> None:
        while not self.progress.done and self.now < self.end:
            chosen, trip = self._choose()
            if trip:
                self._travel()
            elif chosen:
                self._work(chosen)
            elif not self._skip():
                break

    def _choose(self) -> tuple[list[int], bool]:
        """Return the steps to work on now; or that it is time to set out."""
        free = self.progress.people
        chosen: list[int] = []
        for at, n in self.progress.open_steps():
            step = self.progress.steps[n]
            if at > self.midnight + self.now or step.people > free:
                continue
            if step.stage == "site" and not self.there:
                if not chosen and self.now <= self.latest_start:
                    return [], True
                continue
            chosen.append(n)
            free -= step.people
        return chosen, False

    def _travel(self) -> None:
        trip = self.progress.trip
        until = self.now + trip.minutes
        self.stints.append(Stint(trip.task, trip.label, "site", self.now, until, trip.people))
        self.now, self.there = until, True

    def _next_ready(self) -> int:
        later = [at - self.midnight for at, _ in self.progress.open_steps() if at > self.midnight + self.now]
        return min(later, default=self.end)

    def _work(self, chosen: Sequence[int]) -> None:
        shortest = min(self.progress.left[n] for n in chosen)
        minutes = min(shortest, self.end - self.now, self._next_ready() - self.now)
        for n in chosen:
            self._note(self.progress.steps[n], self.now + minutes)
            self.progress.work(n, minutes, self.midnight + self.now + minutes)
        self.now += minutes

    def _note(self, step: Step, until: int) -> None:
        """Add the work to the stint it goes on from, or as a new one."""
        for n, one in enumerate(self.stints):
            if (one.label, one.end) == (step.label, self.now):
                self.stints[n] = Stint(one.task, one.label, one.stage, one.start, until, one.people)
                return
        self.stints.append(Stint(step.task, step.label, step.stage, self.now, until, step.people))

    def _skip(self) -> bool:
        """Go on to when the next step is dry; return whether that is today."""
        self.now = self._next_ready()
        return self.now < self.end


def work_day(progress: Progress, day: int, hours: tuple[int, int]) -> tuple[Stint, ...]:
    """Work one day of a job; return what was done.

    Args:
        progress: of the job; it is moved on.
        day: calendar days since the first.
        hours: start and end of the day, minutes after midnight.
    """
    shift = _Shift(progress, day, hours)
    shift.run()
    return tuple(shift.stints)


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
class JobWork:
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
) -> JobWork:
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
    return JobWork(progress, longest, (first, last), stay)


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


def worked_days(work: JobWork, calendar: Calendar, start: dt.date | None) -> tuple[Day, ...]:
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
