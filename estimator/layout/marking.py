"""The one laser line that frames are marked out from."""

from estimator.catalogue.records import Practice
from estimator.core.units import Nm
from estimator.job.description import Job


def level_line(job: Job, practice: Practice) -> Nm:
    """Return the height of the room's laser line: the first a treatment gives, else the shop's."""
    given = [t.level_line for t in job.walls if t.level_line is not None]
    return given[0] if given else practice.length("level_line")
