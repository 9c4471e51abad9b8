"""What finished jobs teach: rates drawn from hours and quantities, held by the shop's rate so far.

``new = (w old + n data) / (w + n)`` with ``data = sum of hours / sum of quantities`` over n jobs, and w the
number of jobs that the old rate counts for. One odd job moves a rate by 1 / (w + 1) of the way at most.

Source: a ratio of sums, as the mean of ratios gives a small job the say of a large one; shrinkage of a mean
towards a prior, as in the credibility formula Z = n / (n + k), Buhlmann, ASTIN Bulletin 4 (1967) 199-207
(from memory).

A labour file with new rates in it, its comments and everything else as they were.
"""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation

from estimator.calc.evaluation import number
from estimator.catalogue.labour import LEARNED, LabourBook, LabourTask
from estimator.core.errors import Problem, refuse_all
from estimator.core.units import converted
from estimator.intake.structured import records
from estimator.job.document import nearest, sentences
from estimator.job.lines import key_lines
from estimator.labour.tasks import MINUTES, Labour, expected_minutes

ZERO = Decimal(0)


@dataclass(frozen=True, slots=True)
class Actual:
    """What one task of one job took: hours of one person; `difficulty` is what made it harder."""

    job: str
    task: str
    quantity: Decimal
    hours: Decimal
    difficulty: Decimal = Decimal(1)


@dataclass(frozen=True, slots=True)
class Learned:
    """A rate before and after.

    Attributes:
        old, new: hours of one person for one unit.
        data: of the jobs alone.
        jobs, quantity, hours: what it rests on; hours are those of jobs of no difficulty.
        weight: jobs that the old rate counts for.
    """

    old: Decimal
    new: Decimal
    data: Decimal
    jobs: int
    quantity: Decimal
    hours: Decimal
    weight: Decimal


def learned(rate: Decimal, prior_weight: Decimal, actuals: Sequence[Actual]) -> Learned:
    """Return what `actuals` of one task make of its rate.

    Args:
        rate: hours for one unit, so far.
        prior_weight: jobs that it counts for, 0 or more.
        actuals: of one task; several lines of one job count as one job.

    Raises:
        ValueError: no actuals, or none with a quantity.
    """
    quantity = sum((a.quantity for a in actuals), ZERO)
    if quantity <= 0:
        raise ValueError("there is no quantity to learn from")
    hours = sum((a.hours / a.difficulty for a in actuals), ZERO)
    jobs, data = len({a.job for a in actuals}), hours / quantity
    new = (prior_weight * rate + jobs * data) / (prior_weight + jobs)
    return Learned(rate, new, data, jobs, quantity, hours, prior_weight)


def expected_hours(task: LabourTask, book: LabourBook) -> Decimal:
    """Return the expected hours of one person for one unit of a task."""
    return expected_minutes(task, book) / MINUTES


def learned_rates(
    book: LabourBook, actuals: Iterable[Actual], prior_weight: Decimal
) -> Mapping[str, Learned]:
    """Return what the actuals make of the rates of `book`, by task, in its order."""
    found: dict[str, list[Actual]] = {}
    for one in actuals:
        found.setdefault(one.task, []).append(one)
    return {
        task.key: learned(expected_hours(task, book), prior_weight, found[task.key])
        for task in book.tasks
        if task.key in found
    }


POINTS = ("low", "likely", "high")
LONGEST_SOURCE = 120
_LINE = re.compile(r"""(?P<head>\s*\w+\s*=\s*)(?P<value>"(?:\\.|[^"\\])*"|'[^']*'|[^\s#]+)(?P<rest>.*)""")


def with_rates(text: str, book: LabourBook, rates: Mapping[str, Learned]) -> str:
    """Return the text of a labour file with the three points and the sources of `rates` in it.

    The three points keep their shape: each is multiplied by new / old.

    Args:
        text: the file that `book` was read from, one key a line.
        book: its tasks.
        rates: what was learned, by task.

    Raises:
        ValueError: a rate does not stand on a line of its own.
    """
    places = key_lines(text)
    lines = text.splitlines(keepends=True)
    for task, key, value in _changes(book, rates):
        number = places[("task", task, key)] - 1
        found = _LINE.fullmatch(lines[number].rstrip("\r\n"))
        if found is None or found["head"].split("=")[0].strip() != key:
            raise ValueError(f"{key} of task {book.tasks[task].key!r} does not stand on a line of its own")
        ending = lines[number][len(lines[number].rstrip("\r\n")) :]
        lines[number] = found["head"] + value + found["rest"] + ending
    return "".join(lines)


def _changes(book: LabourBook, rates: Mapping[str, Learned]) -> Iterator[tuple[int, str, str]]:
    for n, task in enumerate(book.tasks):
        if task.key in rates:
            rate = rates[task.key]
            for point, minutes in zip(POINTS, _points(task, rate), strict=True):
                yield n, point, f"{minutes.quantize(Decimal('0.001')).normalize():f}"
            yield n, "source", f'"{_source(task, rate)}"'


def _points(task: LabourTask, rate: Learned) -> tuple[Decimal, ...]:
    if not rate.old:
        return (rate.new * MINUTES,) * 3
    return tuple(getattr(task, point) * rate.new / rate.old for point in POINTS)


def _source(task: LabourTask, rate: Learned) -> str:
    """Return where the rate comes from now, as it may stand in a TOML string."""
    before = task.source.rpartition("before that: ")[2][:LONGEST_SOURCE]
    plain = before.replace("\\", "\\\\").replace('"', '\\"')
    jobs = "1 job" if rate.jobs == 1 else f"{rate.jobs} jobs"
    return f"{LEARNED} {jobs}; before that: {plain}"


COLUMNS = ("job", "task", "quantity", "unit", "hours", "difficulty")
_MEASURE = {"ft": "ft", "m": "m", "ft2": "ft^2", "m2": "m^2", "each": "", "ea": "", "": ""}


def actuals_of(text: str, book: LabourBook, file: str) -> tuple[Actual, ...]:
    """Return the actuals of a CSV text with columns job, task, quantity, unit, hours, and difficulty if any.

    Args:
        text: of the file.
        book: tasks; quantities are turned into the unit of each task's rate.
        file: its name in messages.

    Raises:
        InputError: every line that cannot be used.
    """
    problems: list[Problem] = []
    actuals: list[Actual] = []
    for line, row in records(text, file, COLUMNS[:5]):
        try:
            actuals.append(_actual(row, book))
        except ValueError as error:
            problems.append(Problem(row["task"][:48] or "row", *sentences(error), file=file, line=line))
    refuse_all(problems)
    return tuple(actuals)


def _actual(row: Mapping[str, str], book: LabourBook) -> Actual:
    job, key = row["job"], row["task"]
    if not job:
        raise ValueError("the job is missing; Number the job that the hours belong to.")
    if key not in book.by_key:
        raise ValueError(f"there is no labour task {key[:40]!r}; {nearest(key, book.by_key)}")
    quantity, hours = _number(row, "quantity"), _number(row, "hours")
    difficulty = _number(row, "difficulty") if row.get("difficulty") else Decimal(1)
    if not quantity or not difficulty:
        raise ValueError("a quantity or difficulty of nothing; Write more than 0, or leave the line out.")
    return Actual(job, key, _in_unit(quantity, row["unit"], book.by_key[key]), hours, difficulty)


def _number(row: Mapping[str, str], column: str) -> Decimal:
    text = row[column]
    try:
        value = Decimal(text)
    except InvalidOperation:
        raise ValueError(f"the {column} {text[:40]!r} is no number; Write digits and a point.") from None
    if not value.is_finite() or value < 0:
        raise ValueError(f"the {column} {text[:40]!r} is out of range; Write 0 or more.")
    return value


def _in_unit(quantity: Decimal, unit: str, task: LabourTask) -> Decimal:
    given, own = _MEASURE.get(unit), _MEASURE[task.unit]
    if given == own:
        return quantity
    fix = f"The rate of {task.key!r} is per {task.unit}."
    if given is None or "" in {given, own}:
        raise ValueError(f"the unit {unit[:20]!r} does not fit; {fix}")
    try:
        return converted(quantity, given, own)
    except ValueError:
        raise ValueError(f"the unit {unit!r} does not fit; {fix}") from None


def actuals_beside(
    job: str, labour: Labour, spent: Mapping[str, Decimal], book: LabourBook
) -> tuple[Actual, ...]:
    """Return the hours worked on a job's tasks beside the quantities and difficulties it was worked out with.

    Args:
        job: its number.
        labour: of the job as it was built.
        spent: hours of one person, by task; tasks left out or without a quantity teach nothing.
        book: the tasks.
    """
    rates, lines = labour.inputs[2], labour.workings[1]
    rows = zip(rates["key"].values, rates["per"].values, rates["difficulty"].values,
               lines["quantity"].values, strict=True)  # fmt: skip
    found: list[Actual] = []
    for key, unit, difficulty, quantity in rows:
        task, hours = book.by_key[str(key)], spent.get(str(key))
        built, hard = number(quantity), number(difficulty)
        if hours is not None and built > 0 and hard > 0:
            found.append(Actual(job, task.key, _in_unit(built, str(unit), task), hours, hard))
    return tuple(found)
