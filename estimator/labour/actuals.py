"""Hours as worked: from a CSV file of the shop's own, or beside the quantities of a job worked out again."""

from collections.abc import Mapping
from decimal import Decimal, InvalidOperation

from estimator.calc.evaluation import number
from estimator.catalogue.labour import LabourBook, LabourTask
from estimator.core.errors import InputError, Problem
from estimator.core.units import converted
from estimator.intake.rows import records
from estimator.job.refusals import nearest
from estimator.labour.learning import Actual
from estimator.labour.tasks import Labour

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
            what, _, fix = str(error).partition("; ")
            problems.append(Problem(row["task"][:48] or "row", what, fix, file=file, line=line))
    if problems:
        raise InputError(problems)
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
