"""By how much the minutes of tasks may move before the days of a job may come out otherwise.

The plan of days is worked once with numbers that remember which tasks they are the sum of. Every comparison
on the way is then a bound on a sum of minutes; while all of them hold, the same people do the same steps in
the same order on the same days. Such a set of minutes is convex: where every task alone may move by its
leeway, all may move together as long as the shares of their leeways add up to less than the whole.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Self

from estimator.labour.schedule import Schedule, ToPlan, begun, worked_days

ONE, MOST = Decimal(1), Decimal(1000)
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
class Stood:
    """The minutes that people stand while the days hold: `fixed`, and for `each` minute of a task's part."""

    fixed: int
    each: Mapping[str, int]

    def of(self, task: str, *, whole: bool) -> int:
        """Return the minutes stood for one of a task, or those fixed for the `whole`."""
        return self.fixed if whole else self.each.get(task, 0)


def leeways(work: ToPlan, schedule: Schedule) -> tuple[tuple[Leeway, ...], Stood]:
    """Return the leeway of every task that the days have, in the book's order; and when people stand by.

    Args:
        work: what the days are planned from.
        schedule: as `plan_days` found it.
    """
    bounds = _Bounds()
    going = {day.number: day.work.going for day in schedule.days if day.work.going}
    days = worked_days(begun(work, bounds.count), work, going)
    found = []
    for task in (t for t in work.book.tasks if t.planned):
        sides = (bounds.longer.get(task.key), bounds.shorter.get(task.key))
        most, least = (MOST if s is None else min(Decimal(s) / _STEPS, MOST) for s in sides)
        minutes = bounds.minutes.get(task.key, 0)
        if minutes:
            least = min(least, Decimal(minutes))  # of no minutes there is no step
        else:
            most = ONE
        found.append(Leeway(task.key, minutes, *work.spread_over(task), most, least))
    stood = _Watched(0, {}, bounds)
    for day in days:
        stood += day.work.standing
    each = {task: slope for task, slope in stood.slopes.items() if slope}
    return tuple(found), Stood(int(stood) - sum(s * bounds.minutes[t] for t, s in each.items()), each)
