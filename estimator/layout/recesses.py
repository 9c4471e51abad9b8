"""Removable boxes that fill a window's recess, hung on hooks."""

from collections.abc import Iterator

from estimator.core.errors import Problem
from estimator.core.units import format_length
from estimator.job.description import Job
from estimator.job.description_pieces import Recess
from estimator.layout.fixings import weight_n
from estimator.layout.holes import Found, found
from estimator.layout.made import Made
from estimator.layout.pieces import FrameWanted
from estimator.layout.records import Frame, Placement
from estimator.layout.shapes import SIDES


def _place(box: Recess, job: Job) -> Found:
    """Return the window that a box fills, with its wall."""
    hosts = {t.name: t.on for t in job.walls}
    wall = hosts.get(box.wall, box.wall)
    return next(f for f in found(job) if f.wall == wall and f.opening.name == box.opening)


def refusals(job: Job) -> Iterator[Problem]:
    """Yield why boxes cannot be where the job says: in a way out."""
    for (kind, at), box in job.each(Recess):
        if _place(box, job).opening.egress:
            what = f"{box.opening} is a way out, and {box.name} would fill it"
            fix = "Leave it open, or settle it with the local authority."
            yield Problem(f"{kind}[{at}].opening", what, fix)


def recess(box: Recess, wanted: FrameWanted) -> Made:
    """Return the box of a recess."""
    place = _place(box, wanted.job)
    opening, clear = place.opening, wanted.catalogue.practice.length("recess_clearance")
    made = wanted.frame(
        (opening.width - 2 * clear, opening.height - 2 * clear), dict.fromkeys(SIDES, "casing"),
        Placement(place.wall, opening.left + clear, opening.bottom + clear, opening.name), bare=True,
    )  # fmt: skip
    depth, room = (format_length(deep, wanted.display) for deep in (made.depth, box.depth))
    reason = f"{box.name}: a box {depth} deep in a recess {room} deep."
    return Made((made,), (), (wanted.held(),), (reason,), tuple(_watch(box, made, wanted)))


def _watch(box: Recess, made: Frame, wanted: FrameWanted) -> Iterator[Problem]:
    if made.depth > box.depth:
        what = f"{box.name} is deeper than its recess and stands out into the room"
        yield Problem(box.name, what, "Choose a thinner make-up.", severity="warning")
    rated, hooks = wanted.holder.rated_load_n, wanted.held().count
    needed = weight_n(made.mass_kg) * wanted.catalogue.practice.number("hanger_safety_factor")
    if rated is not None and hooks * rated < needed:
        what = f"{hooks} hooks of {rated:.0f} N do not hold {box.name} with the shop's safety factor"
        yield Problem(box.name, what, f"It needs {needed:.0f} N in all.", severity="warning")
