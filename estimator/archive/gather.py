"""From a job to what is filed of it: the one place where the archive meets the rest of the program."""

from pathlib import Path

from estimator.archive.summary import Summary


def gather(job_path: Path) -> tuple[Summary, dict[str, Path]]:
    """Return the record of a job's quote, and the files to keep with it, each by its name in the folder.

    Args:
        job_path: the job file.

    Raises:
        NotImplementedError: until the estimate is joined to the archive.
    """
    raise NotImplementedError(f"{job_path} cannot be filed yet: the estimate is not joined to the archive")
