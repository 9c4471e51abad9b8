"""The whole layout of a job: every frame, strip, mark and caution, from the job and the catalogue alone."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType

from estimator.catalogue.records import Catalogue
from estimator.core.errors import InputError, Problem
from estimator.core.units import Nm
from estimator.job.description import Job
from estimator.layout.colours import cloths
from estimator.layout.fixings import behind, fixings
from estimator.layout.holes import records, refusals
from estimator.layout.marking import level_line, marks
from estimator.layout.materials import materials
from estimator.layout.plan import room_plan
from estimator.layout.records import Frame, Layout
from estimator.layout.sites import Site, sites
from estimator.layout.wall_frames import Choices, cut_bands, wall_frames
from estimator.layout.weights import parts_kg

NO_SIZES: Mapping[str, tuple[Nm, Nm]] = MappingProxyType({})


def lay_out(job: Job, catalogue: Catalogue, sizes: Mapping[str, tuple[Nm, Nm]] = NO_SIZES) -> Layout:
    """Return the layout of a job: the same for the same job, whatever the order of its tables.

    Args:
        job: the job.
        catalogue: price list and shop practice.
        sizes: width and height of frames that were changed by hand, by name; the rest stays where it is.

    Returns:
        Frames in the order walls, corners, recesses, screens, clouds; each with its members, cavities,
        faces, edges and fixings; warnings and cautions beside them.

    Raises:
        InputError: everything that cannot be laid out, all at once for each step.
    """
    made = materials(job, catalogue)
    plan, warnings = room_plan(job.room, job.header.display)
    places = sites(job, plan, made)
    refused = refusals(job, plan, places, job.header.display)
    if refused:
        raise InputError(refused)
    cuts = cut_bands(job, plan, places, catalogue)
    choices = Choices(cloths(job, catalogue), sizes, catalogue.practice.length("box_stud_near"))
    walls = wall_frames(job, cuts, choices)
    frames = tuple(_finished(f, places, catalogue) for f in walls.frames)
    problems: Sequence[Problem] = [*warnings, *walls.problems]
    return Layout(
        room=plan, frames=frames, strips=walls.strips, openings=records(job, catalogue.practice),
        level_line=level_line(job, catalogue.practice), marks=marks(job, frames, catalogue.practice),
        hardware=(), reasons=walls.reasons, problems=tuple(problems),
    )  # fmt: skip


def _finished(frame: Frame, places: Sequence[Site], catalogue: Catalogue) -> Frame:
    """Return a wall frame with its fixings and its mass."""
    site = next(s for s in places if s.name == frame.host)
    held = fixings(frame, behind(site.treatment.backing, catalogue.practice), catalogue)
    mass = parts_kg(frame.members, frame.cavities, frame.faces, catalogue)
    return replace(frame, fixings=held, mass_kg=mass)
