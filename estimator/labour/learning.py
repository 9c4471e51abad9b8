"""What finished jobs teach: rates drawn from hours and quantities, held by the shop's rate so far.

``new = (w old + n data) / (w + n)`` with ``data = sum of hours / sum of quantities`` over n jobs, and w the
number of jobs that the old rate counts for. One odd job moves a rate by 1 / (w + 1) of the way at most.

Source: a ratio of sums, as the mean of ratios gives a small job the say of a large one; shrinkage of a mean
towards a prior, as in the credibility formula Z = n / (n + k), Buhlmann, ASTIN Bulletin 4 (1967) 199-207
(from memory).
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from estimator.catalogue.labour import LabourBook, Task
from estimator.labour.tasks import MINUTES, expected_minutes

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


def expected_hours(task: Task, book: LabourBook) -> Decimal:
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
