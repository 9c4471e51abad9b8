"""Reading a job file: TOML to `Job`, or every Problem with file, line and key path."""

from pathlib import Path

from estimator.core.errors import InputError, Problem
from estimator.job.agreement import disagreements
from estimator.job.description import Job, job_file
from estimator.job.document import Document, read_document, validated


def read_job(document: Document) -> tuple[Job, tuple[Problem, ...]]:
    """Return the job in a document, and its problems: errors and warnings together.

    Raises:
        InputError: the file's form is wrong, so that there is no job to look at.
    """
    job = validated(job_file(), document)
    return job, tuple(disagreements(job, document))


def load_job(path: Path, file: str | None = None) -> tuple[Job, tuple[Problem, ...]]:
    """Return the job in the file at `path`, and the warnings.

    Args:
        path: the job file.
        file: its name in messages; left out, `path`.

    Raises:
        InputError: every error found.
    """
    job, problems = read_job(read_document(path, file))
    if any(problem.severity == "error" for problem in problems):
        raise InputError(problems)
    return job, problems
