"""Where each treatment stands: its plan wall, its band, and the refusals of bands that do not fit."""

from collections.abc import Iterator, Mapping, Sequence
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
        kind: key of its kind of piece.
        where: its key path in the job file.
        whole: the part of the wall that is treated, before casings.
    """

    kind: str
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
        InputError: a band above its wall, or two treatments over each other; all of them.
    """
    walls = {w.name: w for w in plan.walls}
    found = tuple(
        Site(kind, f"{kind}[{n}]", t, walls[t.on], materials[t.make_up], _whole(t, walls[t.on]))
        for (kind, n), t in job.each(Treatment)
    )
    problems = [*_too_high(found, job.header.display), *_over_each_other(found)]
    if problems:
        raise InputError(problems)
    return found


def _whole(treatment: Treatment, wall: PlanWall) -> Rect:
    end = wall.length if treatment.end is None else treatment.end
    if treatment.band == "floor to ceiling":
        return Rect(treatment.start, 0, end, wall.height)
    bottom = treatment.band.bottom
    return Rect(treatment.start, bottom, end, bottom + treatment.band.height)


def _too_high(found: Sequence[Site], display: Display) -> Iterator[Problem]:
    for site in found:
        if site.whole.top > site.wall.height:
            over, ceiling = (
                format_length(v, display) for v in (site.whole.top - site.wall.height, site.wall.height)
            )
            what = f"the band of {site.name} reaches {over} above the ceiling"
            yield Problem(f"{site.where}.band", what, f"The ceiling is at {ceiling}.")


def _over_each_other(found: Sequence[Site]) -> list[Problem]:
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
