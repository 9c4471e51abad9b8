"""One working day: which steps run when, with the people there are.

Work stops for the break and at the end of the day. The break begins late, by no more than it is long, and a
quarter of an hour is worked after the day, where that ends a step; nothing is begun in the day's last quarter
that it does not end. Drying goes on through breaks and nights.
Every day on site begins with a trip of those who go; a crew sets out only while half the day or more is left.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from estimator.catalogue.labour import Stage
from estimator.labour.network import MINUTES, Step

DAY_MINUTES = 24 * MINUTES
STAY_ON = 15
"""Minutes worked beyond the hour to end a step; common practice, no source."""


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
    """What begins every day on site, minutes by the clock; no minutes, no trip."""

    task: str
    label: str
    minutes: int


@dataclass(frozen=True, slots=True)
class Hours:
    """A working day, minutes after midnight: from `start` to `end`, with a break from `rest_at` on."""

    start: int
    end: int
    rest_at: int
    rest: int


@dataclass(frozen=True, slots=True)
class Worked:
    """What was done on a day.

    Attributes:
        stints: of work and of the trip.
        going: people on site, 0 where nobody was.
        standing: minutes that they were there and had nothing to do, added up over the people.
    """

    stints: tuple[Stint, ...] = ()
    going: int = 0
    standing: int = 0


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

    @property
    def done(self) -> bool:
        """Return whether every step has ended."""
        return None not in self.ended

    def ready(self, step: int) -> int | None:
        """Return the minute, from midnight of the first day, from which a step may start."""
        if step not in self._ready:
            own = self.steps[step]
            ends = [(self.ended[n], self.steps[n].wait if own.waits else 0) for n in own.after]
            if any(end is None for end, _ in ends):
                return None
            self._ready[step] = max((end + wait for end, wait in ends if end is not None), default=0)
        return self._ready[step]

    def open_steps(self) -> list[tuple[int, int]]:
        """Return minute and position of every step that could start sometime, those begun first."""
        waiting = (n for n, ended in enumerate(self.ended) if ended is None)
        found = [(at, n) for n in waiting if (at := self.ready(n)) is not None]
        return sorted(found, key=lambda pair: self._turn(pair[1]))

    def begun(self, step: int) -> bool:
        """Return whether a step was worked on."""
        return self.left[step] != self.steps[step].minutes

    def _turn(self, step: int) -> tuple[bool, int, int]:
        """Return what puts a step before another: it is begun, or the longer chain hangs on it."""
        return not self.begun(step), -self._tails[step], step

    def work(self, step: int, minutes: int, until: int) -> None:
        """Take `minutes` off a step; `until` is when they end."""
        self.left[step] -= minutes
        if not self.left[step]:
            self.ended[step] = until


class _Shift:
    """A day being worked through, minute marks from midnight."""

    def __init__(self, progress: Progress, day: int, hours: Hours, going: int) -> None:
        self.progress = progress
        self.midnight = day * DAY_MINUTES
        self.now, self.end = hours.start, hours.end
        self.hours = hours
        self.latest_start = (hours.start + hours.end) // 2
        self.rest_at, self.rested_till = hours.rest_at, 0
        self.going = going
        self.there = not progress.trip.minutes
        self.stints: list[Stint] = []

    def run(self) -> None:
        while not self.progress.done and self.now < self.end:
            if not self.rested_till and self.now >= self.rest_at:
                self._rest()
                continue
            chosen, trip = self._choose()
            if trip:
                self._travel()
            elif chosen:
                self._work(chosen)
            elif not self._skip():
                break

    def _rest(self) -> None:
        self.rest_at, self.rested_till = self.now, self.now + self.hours.rest
        self.now = self.rested_till

    def _choose(self) -> tuple[list[int], bool]:
        """Return the steps to work on now; or that it is time to set out."""
        away = self.going if self.there and self.progress.trip.minutes else 0
        free = {"site": self.going, "shop": self.progress.people - away}
        chosen: list[int] = []
        for at, n in self.progress.open_steps():
            step = self.progress.steps[n]
            if at > self.midnight + self.now or step.people > free[step.stage] or self._too_late(n):
                continue
            if step.stage == "site" and not self.there:
                if not chosen and self.now <= self.latest_start:
                    return [], True
                continue
            chosen.append(n)
            for stage in free if self.there and not away else (step.stage,):
                free[stage] -= step.people
        return chosen, False

    def _too_late(self, step: int) -> bool:
        """Return whether a step would be begun in the day's last minutes and not ended."""
        room = self.end - self.now
        return room < STAY_ON and not self.progress.begun(step) and self.progress.left[step] > room + STAY_ON

    def _travel(self) -> None:
        trip = self.progress.trip
        until = self.now + trip.minutes
        self.stints.append(Stint(trip.task, trip.label, "site", self.now, until, self.going))
        self.now, self.there = until, True

    def _next_ready(self) -> int:
        later = [at - self.midnight for at, _ in self.progress.open_steps() if at > self.midnight + self.now]
        return min(later, default=self.end)

    def _work(self, chosen: Sequence[int]) -> None:
        shortest = min(self.progress.left[n] for n in chosen)
        reach = [self.end - self.now] if shortest > self.end - self.now + STAY_ON else []
        if not self.rested_till and shortest > self.rest_at - self.now + self.hours.rest:
            reach.append(self.rest_at - self.now)
        minutes = min((shortest, *reach))
        ready = self._next_ready()
        if ready < self.end:
            minutes = min(minutes, ready - self.now)
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
        """Go on to when the next step is dry, or to the break; return whether that is today."""
        ready = self._next_ready()
        self.now = self.rest_at if not self.rested_till and ready > self.rest_at else ready
        return self.now < self.end

    def worked(self) -> Worked:
        """Return what was done."""
        on_site = [s for s in self.stints if s.stage == "site"]
        if not on_site:
            return Worked(tuple(self.stints))
        first, last = min(s.start for s in on_site), max(s.end for s in on_site)
        rested = self.hours.rest if first <= self.rest_at and 0 < self.rested_till <= last else 0
        present = (last - first - rested) * self.going
        standing = present - sum((s.end - s.start) * s.people for s in on_site)
        return Worked(tuple(self.stints), self.going, standing)


def work_day(progress: Progress, day: int, hours: Hours, going: int) -> Worked:
    """Work one day of a job; return what was done.

    Args:
        progress: of the job; it is moved on.
        day: calendar days since the first.
        hours: of the day.
        going: people who go to the site, if anybody does.
    """
    shift = _Shift(progress, day, hours, going)
    shift.run()
    return shift.worked()
