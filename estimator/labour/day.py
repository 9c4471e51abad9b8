"""One working day: which steps run when, with the people there are."""

from collections.abc import Sequence
from dataclasses import dataclass

from estimator.catalogue.labour import Stage
from estimator.labour.network import MINUTES, Step

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
