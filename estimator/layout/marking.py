"""The marking-out table: each frame's sides from the wall's datum and from one laser line."""

from collections.abc import Sequence

from estimator.catalogue.records import Practice
from estimator.core.units import Nm
from estimator.job.description import Job
from estimator.layout.records import Frame, Mark


def level_line(job: Job, practice: Practice) -> Nm:
    """Return the height of the room's laser line: the first a treatment gives, else the shop's."""
    given = [t.level_line for t in job.walls if t.level_line is not None]
    return given[0] if given else practice.length("level_line")


def marks(job: Job, frames: Sequence[Frame], practice: Practice) -> tuple[Mark, ...]:
    """Return one row for each frame that stands on a wall of the plan.

    `left` and `right` are from the wall's left end, `bottom` and `top` from the floor; `below_line` is
    how far the frame's bottom is below its laser line, `above_line` how far its top is above (negative
    where the whole frame is on the other side of the line).
    """
    room_line = level_line(job, practice)
    own = {t.name: t.level_line or room_line for t in job.walls}
    return tuple(_mark(f, own.get(f.host, room_line)) for f in frames if f.placement.wall)


def _mark(frame: Frame, line: Nm) -> Mark:
    left, bottom = frame.placement.x, frame.placement.z
    top = bottom + frame.height
    return Mark(
        frame.name, frame.placement.wall, left, left + frame.width, bottom, top,
        below_line=line - bottom, above_line=top - line,
    )  # fmt: skip
