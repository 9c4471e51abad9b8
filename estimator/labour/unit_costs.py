"""What one more of a thing costs in labour: what plans are weighed by before the hours are known."""

from collections.abc import Sequence
from decimal import Decimal

from estimator.calc.rules import worked_out
from estimator.catalogue.labour import LabourBook, Task
from estimator.job.description import Difficulty
from estimator.labour.tasks import MINUTES, difficulty_of, expected_minutes, hour_cost

_STEP = Decimal("0.0001")


def unit_cost(book: LabourBook, driver: str, difficulty: Sequence[Difficulty] = ()) -> Decimal:
    """Return the expected cost of one more of a driver, in the currency of the wages, to 1/10 000.

    The rates and wages are the shop's own, as `labour.tasks` reckons with them; what the office changes in a
    workbook is left out, so that a rate tried there moves no plan.

    Args:
        book: the shop's tasks and wages.
        driver: a quantity of the takeoff that is counted, such as ``board_pieces``.
        difficulty: factors on named tasks.
    """
    tasks = [task for task in book.tasks if task.driver == driver and task.unit == "each"]
    return sum((_cost(book, task, difficulty) for task in tasks), Decimal(0)).quantize(_STEP)


def _cost(book: LabourBook, task: Task, difficulty: Sequence[Difficulty]) -> Decimal:
    wage = next(wage for wage in book.wages if wage.key == task.wage)
    hourly = worked_out(hour_cost, wage.wage, wage.burden, wage.billable)
    factor, _ = difficulty_of(task.key, difficulty)
    return expected_minutes(task, book) * factor * hourly / MINUTES
