"""Where each treatment stands: its plan wall, its band, and the refusals of bands that do not fit."""

from collections.abc import Mapping
from dataclasses import dataclass

from estimator.core.errors import InputError, Problem
from estimator.core.units import Display, format_length
from estimator.job.description import Job
from estimator.job.description_pieces import Treatment
from estimator.layout.materials import Material
from estimator.layout.rects import Rect
from estimator.layout.surveyed import PlanWall, RoomPlan


@dataclass(frozen=True, slots=True)
class Site:
    """A treatment on its wall.

    Attributes:
        where: its key path in the job file.
        whole: the part of the wall that is treated, before casings.
    """

    where: str
    treatment: Treatment
    wall: PlanWall
    material: Material
    whole: Rect

    @property
    def name(self) -> str:
        """Return the treatment's name."""
        return self.treatment.name


def sites(job: Job, plan: RoomPlan, materials: Mapping[str, Material]) -> tuple[Site, ...]:
    """Return every treatment's site, in the job file's order.

    Raises:
        InputError: a wall or make-up that is not there, a band that is not on its wall, or two
            treatments over each other; all of them.
    """
    walls, found, problems = {w.name: w for w in plan.walls}, list[Site](), list[Problem]()
    for at, treatment in enumerate(job.walls):
        where = f"wall[{at}]"
        wall, material = walls.get(treatment.on), materials.get(treatment.make_up)
        if wall is None:
            problems.append(_missing(f"{where}.on", "wall of the plan", treatment.on, walls))
        if material is None:
            problems.append(_missing(f"{where}.make-up", "make-up", treatment.make_up, materials))
        if wall is None or material is None:
            continue
        site = Site(where, treatment, wall, material, _whole(treatment, wall))
        problems += _fit(site, job.header.display)
        found.append(site)
    problems += _over_each_other(found)
    if problems:
        raise InputError(problems)
    return tuple(found)


def _missing(where: str, what: str, name: str, known: Mapping[str, object]) -> Problem:
    return Problem(where, f"there is no {what} {name!r}", f"There are {', '.join(known)}.")


def _whole(treatment: Treatment, wall: PlanWall) -> Rect:
    end = wall.length if treatment.end is None else treatment.end
    if treatment.band == "floor to ceiling":
        return Rect(treatment.start, 0, end, wall.height)
    bottom = treatment.band.bottom
    return Rect(treatment.start, bottom, end, bottom + treatment.band.height)


def _fit(site: Site, display: Display) -> list[Problem]:
    found, whole, wall = [], site.whole, site.wall
    if whole.right > wall.length:
        over = format_length(whole.right - wall.length, display)
        what = f"{site.name} runs {over} past the end of wall {wall.name}"
        fix = f"The wall is {format_length(wall.length, display)} long."
        found.append(Problem(f"{site.where}.to", what, fix))
    if whole.width <= 0:
        what = f"{site.name} starts at or past its end"
        found.append(Problem(f"{site.where}.from", what, "Write from less than to."))
    if whole.top > wall.height:
        over = format_length(whole.top - wall.height, display)
        what = f"the band of {site.name} reaches {over} above the ceiling"
        fix = f"The ceiling is at {format_length(wall.height, display)}."
        found.append(Problem(f"{site.where}.band", what, fix))
    return found


def _over_each_other(found: list[Site]) -> list[Problem]:
    return [
        Problem(
            b.where,
            f"treatments {a.name} and {b.name} cover the same part of wall {b.wall.name}",
            "Move one, or make its band smaller.",
        )
        for i, b in enumerate(found)
        for a in found[:i]
        if a.wall.name == b.wall.name and a.whole.overlaps(b.whole)
    ]
