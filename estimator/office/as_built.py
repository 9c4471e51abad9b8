"""A job as it was built: its workbook, finished and filled in, beside what the program makes of it."""

from collections.abc import Mapping
from decimal import Decimal
from pathlib import Path

from estimator.calc.expressions import Value
from estimator.catalogue.load import AS_WRITTEN, Instead
from estimator.intake.cells import cells_of
from estimator.labour.actuals import actuals_beside
from estimator.labour.learning import Actual
from estimator.office.applied import opened
from estimator.pipeline import Estimate
from estimator.tables.book import book_of
from estimator.workbook.readback import read_inputs

HOURS = "actual_hours.spent."
"""What the keys of hours as worked begin with."""


def as_built(
    job: Path, workbook: Path, instead: Instead = AS_WRITTEN
) -> tuple[Estimate, Mapping[str, Value]]:
    """Return the estimate of a job with every input of its workbook as the office left it, and those inputs.

    Args:
        job: the job file.
        workbook: of that job.
        instead: what takes the place of what the file says.

    Raises:
        InputError: every problem of the job, its catalogue or the workbook.
    """
    filled, desk = cells_of(workbook), opened(job, instead)
    inputs = read_inputs(filled, book_of(desk.estimate({})), desk.job.header.number)
    return desk.estimate(inputs), inputs


def learned_from(job: Path, workbook: Path, instead: Instead = AS_WRITTEN) -> tuple[Actual, ...]:
    """Return the hours that the office wrote into a job's workbook, beside the quantities as built.

    Raises:
        InputError: every problem of the job, its catalogue or the workbook.
    """
    built, inputs = as_built(job, workbook, instead)
    spent = {
        key.removeprefix(HOURS): value
        for key, value in inputs.items()
        if key.startswith(HOURS) and isinstance(value, Decimal)
    }
    return actuals_beside(built.job.header.number, built.scope.labour, spent, built.catalogue.labour)
