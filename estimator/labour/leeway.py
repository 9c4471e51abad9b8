"""By how much the minutes of tasks may move before the days of a job may come out otherwise.

The plan of days is worked once with numbers that remember which tasks they are the sum of. Every comparison
on the way is then a bound on a sum of minutes; while all of them hold, the same people do the same steps in
the same order on the same days. Such a set of minutes is convex: where every task alone may move by its
leeway, all may move together as long as the shares of their leeways add up to less than the whole.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Self

from estimator.catalogue.labour import LabourBook
from estimator.labour.schedule import (
    NO_WAITS,
    ONE_TRIP,
    Crew,
    Schedule,
    Trips,
    begun,
    spread_over,
    worked_days,
)

MOST = Decimal(1000)
_STEPS = 1000
"""Leeways are rounded down to a thousandth of a minute."""


@dataclass(frozen=True, slots=True)
class Leeway:
    """Minutes by the clock of each part of a task, and by how many more or fewer the days stand.

    Attributes:
        people: at it.
        parts: coats of a task done in coats, trips of one that begins every day on site.
        longer, shorter: the change must stay below it, `MOST` at most.
    """

    task: str
    minutes: int
    people: int
    parts: int
    longer: Decimal
    shorter: Decimal


class _Bounds:
    """The tightest bounds met so far, by task: thousandths of a minute."""

    def __init__(self) -> None:
        self.longer: dict[str, int] = {}
        self.shorter: dict[str, int] = {}
        self.minutes: dict[str, int] = {}

    def count(self, task: str, minutes: int) -> int:
        """Return a task's minutes as a number that is watched."""
        self.minutes[task] = minutes
        return _Watched(minutes, {task: 1}, self)

    def hold(self, slopes: Mapping[str, int], room: int) -> None:
        """Note that the sum which `slopes` give may grow by `room`, and no more."""
        for task, slope in slopes.items():
            if slope:
                side = self.longer if slope > 0 else self.shorter
                most = (room + 1) * _STEPS // abs(slope)
                side[task] = min(most, side.get(task, most))


class _Watched(int):
    """A sum of minutes that remembers of which tasks, and tells of every comparison."""

    slopes: Mapping[str, int]
    bounds: _Bounds

    def __new__(cls, value: int, slopes: Mapping[str, int], bounds: _Bounds) -> Self:
        made = super().__new__(cls, value)
        made.slopes, made.bounds = slopes, bounds
        return made

    def _plus(self, other: int, sign: int) -> _Watched:
        more = getattr(other, "slopes", {})
        slopes = {t: self.slopes.get(t, 0) + sign * more.get(t, 0) for t in {**self.slopes, **more}}
        return _Watched(int(self) + sign * int(other), slopes, self.bounds)

    def __add__(self, other: int) -> _Watched:
        return self._plus(other, 1)

    __radd__ = __add__

    def __sub__(self, other: int) -> _Watched:
        return self._plus(other, -1)

    def __mul__(self, times: int) -> _Watched:
        return _Watched(int(self) * times, {t: times * s for t, s in self.slopes.items()}, self.bounds)

    __rmul__ = __mul__

    def __neg__(self) -> _Watched:
        return _Watched(-int(self), {t: -s for t, s in self.slopes.items()}, self.bounds)

    def __rsub__(self, other: int) -> _Watched:
        return -self + other

    def _above_nothing(self) -> bool:
        above = int(self) > 0
        if above:
            self.bounds.hold((-self).slopes, int(self) - 1)
        else:
            self.bounds.hold(self.slopes, -int(self))
        return above

    def __gt__(self, other: int) -> bool:
        return (self - other)._above_nothing()

    def __lt__(self, other: int) -> bool:
        return (-self + other)._above_nothing()

    def __ge__(self, other: int) -> bool:
        return not self < other

    def __le__(self, other: int) -> bool:
        return not self > other

    def __eq__(self, other: object) -> bool:
        return isinstance(other, int) and not self > other and not self < other

    def __bool__(self) -> bool:
        return self > 0

    __hash__ = int.__hash__


@dataclass(frozen=True, slots=True)
class Standing:
    """The minutes that people stand while the days hold: `fixed`, and for `each` minute of a task's part."""

    fixed: int
    each: Mapping[str, int]

    def of(self, task: str, *, whole: bool) -> int:
        """Return the minutes stood for one of a task, or those fixed for the `whole`."""
        return self.fixed if whole else self.each.get(task, 0)


def leeways(
    schedule: Schedule,
    hours: Mapping[str, Decimal],
    book: LabourBook,
    crew: Crew,
    *,
    start: dt.date | None = None,
    waits: Mapping[str, Decimal] = NO_WAITS,
    coats: int = 1,
    trips: Trips = ONE_TRIP,
) -> tuple[tuple[Leeway, ...], Standing]:
    """Return the leeway of every task that the days have, in the order of `book`; and how standing follows.

    Args:
        schedule: as `plan_days` found it.
        hours: and all else as `plan_days`, whose errors are these.
        book: its own.
        crew: its own.
        start: its own.
        waits: its own.
        coats: its own.
        trips: its own.
    """
    bounds = _Bounds()
    work = begun(hours, book, crew, waits=waits, coats=coats, trips=trips, count=bounds.count)
    going = {day.number: day.work.going for day in schedule.days if day.work.going}
    days = worked_days(work, book.calendar, start, going)
    found = []
    for task in (t for t in book.tasks if t.planned):
        sides = (bounds.longer.get(task.key), bounds.shorter.get(task.key))
        most, least = (MOST if s is None else min(Decimal(s) / _STEPS, MOST) for s in sides)
        minutes = bounds.minutes.get(task.key, 0)
        people, parts = spread_over(task, crew, trips, coats)
        if minutes:
            least = min(least, Decimal(minutes))  # of no minutes there is no step
        found.append(Leeway(task.key, minutes, people, parts, most if minutes else Decimal(1), least))
    stood = sum((day.work.standing for day in days), 0)
    each = {task: slope for task, slope in getattr(stood, "slopes", {}).items() if slope}
    fixed = int(stood) - sum(slope * bounds.minutes[task] for task, slope in each.items())
    return tuple(found), Standing(fixed, each)
