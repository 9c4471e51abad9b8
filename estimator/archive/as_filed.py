"""A filed quote estimated again with all it was filed with: the side of a comparison that was agreed."""

from dataclasses import replace
from pathlib import Path

from estimator.archive.reopen import reopen
from estimator.core.errors import Problem
from estimator.job.document import read_document
from estimator.job.load import read_job
from estimator.office.applied import Applied, applied
from estimator.tables.compare import Party, party


def as_filed(folder: Path) -> tuple[Applied, Party]:
    """Return the estimate of the quote filed in `folder`, its job as written, and what it is called.

    A price that comes out other than the one filed is told among the problems.

    Raises:
        InputError: the folder holds no quote with a job file, or it cannot be estimated any more.
        ArchiveError: what was filed is damaged.
    """
    opened = reopen(folder)
    found = applied(opened.job, instead=opened.instead)
    written, _ = read_job(read_document(opened.job))
    scope = replace(found.estimate.scope, job=written)
    found = replace(found, estimate=replace(found.estimate, scope=scope))
    filed, now = opened.quote.totals.price, found.estimate.totals.price
    if filed != now:
        what = f"was filed at {filed} before tax; the program now works out {now} from the same files"
        fix = f"It was filed by version {opened.quote.program}; the figures shown are today's."
        changed = Problem(opened.quote.number, what, fix, severity="warning")
        found = replace(found, problems=(changed, *found.problems))
    label = f"as filed, revision {opened.quote.revision}"
    return found, party(label, found.estimate, len(found.edits))
