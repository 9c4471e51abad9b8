"""The tasks of a job as steps with predecessors, and the longest chain through them.

Source: critical path method; Kelley and Walker, Proc. Eastern Joint Computer Conference (1959) 160-173
(from memory); checked against networkx in the tests.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache

from estimator.calc.evaluation import worked_out
from estimator.calc.expressions import Expr, Operand, lift, whole_up
from estimator.catalogue.labour import JOURNEYS, LabourBook, LabourTask, Stage
from estimator.catalogue.records import Practice

MINUTES = 60


@dataclass(frozen=True, slots=True)
class Step:
    """A task, or one coat of it.

    Attributes:
        task, label, stage: of the task; the label names the coat.
        minutes: by the clock, with `people` at it.
        after: positions of the steps before it in the network.
        wait: minutes by the clock, nights included, between its end and the start of what follows.
        waits: it starts only when what is before it is dry.
    """

    task: str
    label: str
    stage: Stage
    minutes: int
    people: int
    after: tuple[int, ...]
    wait: int
    waits: bool = True


def waits_of(book: LabourBook, practice: Practice) -> dict[str, Decimal]:
    """Return the wait after every task that has one, hours; some are the shop's practice.

    Raises:
        KeyError: the practice has no such value.
    """
    waits = {
        t.key: Decimal(str(practice.number(t.wait_from))) if t.wait_from else t.wait_hours for t in book.tasks
    }
    return {key: hours for key, hours in waits.items() if hours}


def network(
    book: LabourBook, hours: Mapping[str, Decimal], waits: Mapping[str, Decimal], *, crew: int, coats: int
) -> tuple[Step, ...]:
    """Return the steps of a job in an order in which none stands before one it waits for.

    Args:
        book: the tasks.
        hours: of one person, by task; tasks left out take none, and pass the order on.
        waits: hours after a task, by task.
        crew: people at work.
        coats: a task done in coats becomes as many steps, each with its wait.
    """
    steps: list[Step] = []
    last: dict[str, tuple[int, ...]] = {}
    for task in book.tasks:
        before = tuple(dict.fromkeys(n for key in task.after for n in last[key]))
        if task.planned and (own := hours.get(task.key)):
            parts = max(coats, 1) if task.coats else 1
            for part in range(parts):
                steps.append(_step(task, own, waits, crew, (part, parts), before))
                before = (len(steps) - 1,)
        last[task.key] = before
    return tuple(steps)


def _step(
    task: LabourTask,
    hours: Decimal,
    waits: Mapping[str, Decimal],
    crew: int,
    part: tuple[int, int],
    before: tuple[int, ...],
) -> Step:
    number, parts = part
    people = crew if task.driver == JOURNEYS else min(task.crew, crew)
    label = f"{task.label}, coat {number + 1} of {parts}" if parts > 1 else task.label
    wait = whole_minutes(waits.get(task.key, Decimal(0)))
    minutes = whole_minutes(hours, people, parts)
    return Step(task.key, label, task.stage, minutes, people, before, wait, number > 0 or task.waits)


def clock_minutes(hours: Operand, in_hour: Operand, people: Operand, parts: Operand) -> Expr:
    """Return the whole minutes by the clock that one of so many equal parts of a task takes."""
    return whole_up(lift(hours) * in_hour / people / parts)


@lru_cache(maxsize=1024)
def whole_minutes(hours: Decimal, people: int = 1, parts: int = 1) -> int:
    """Return the whole minutes by the clock, as `clock_minutes`."""
    return int(worked_out(clock_minutes, hours, Decimal(MINUTES), Decimal(people), Decimal(parts)))


def tails(steps: Sequence[Step]) -> list[int]:
    """Return the minutes from the start of each step to the end of the longest chain after it."""
    out = [s.minutes for s in steps]
    for n in range(len(steps) - 1, -1, -1):
        for before in steps[n].after:
            out[before] = max(out[before], _chain(steps, before, n) + out[n])
    return out


def _chain(steps: Sequence[Step], before: int, n: int) -> int:
    """Return the minutes from the start of one step to that of one it hangs on."""
    return steps[before].minutes + (steps[before].wait if steps[n].waits else 0)


def critical_path(steps: Sequence[Step]) -> tuple[int, ...]:
    """Return the positions of the steps of the longest chain, first to last.

    People, nights and trips are not part of it: no crew, however large, is faster.
    """
    if not steps:
        return ()
    left = tails(steps)
    followers: dict[int, list[int]] = {}
    for n, step in enumerate(steps):
        for before in step.after:
            followers.setdefault(before, []).append(n)
    at = max(range(len(steps)), key=lambda n: (left[n], -n))
    chain = [at]
    while at in followers:
        longest, following = max((_chain(steps, at, n) + left[n], -n) for n in followers[at])
        if left[at] != longest:
            break
        at = -following
        chain.append(at)
    return tuple(chain)
