"""The whole layout of a job: every frame, strip, mark and caution, from the job and the catalogue alone."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import assert_never

from estimator.catalogue.records import Catalogue
from estimator.core.errors import Problem, refuse_all
from estimator.core.units import Nm
from estimator.job.description import Job
from estimator.job.description_pieces import Cloud, Corner, Recess, Screen, Treatment
from estimator.layout import corner_places, extent
from estimator.layout.cautions import cautions, handling, holding, too_long
from estimator.layout.fixings import behind, fixings, spread
from estimator.layout.frames import Material, cloths, materials, strangers
from estimator.layout.pieces import FrameWanted, weighed
from estimator.layout.plan import RoomPlan, room_plan
from estimator.layout.records import Frame, Layout, Made, copies, together
from estimator.layout.room_pieces import blocked_ways, cloud, corner, recess, screen
from estimator.layout.sites import Site, level_line, records, refusals, sites
from estimator.layout.strips import BevelRule
from estimator.layout.wall_frames import Choices, cut_bands, wall_frames

NO_SIZES: Mapping[str, tuple[Nm, Nm]] = MappingProxyType({})


def lay_out(
    job: Job,
    catalogue: Catalogue,
    sizes: Mapping[str, tuple[Nm, Nm]] = NO_SIZES,
    *,
    optional: bool = False,
) -> Layout:
    """Return the layout of a job.

    Args:
        job: the job; its tables agree with one another, as `job.agreement` has found.
        catalogue: price list and shop practice.
        sizes: width and height of frames that were changed by hand, by name; the rest stays where it is.
        optional: the job with an option: it may leave out a frame that has a colour of its own.

    Returns:
        Frames in the order of `PIECES`, each with its members, cavities, faces, edges and fixings; warnings
        and cautions beside them.

    Raises:
        InputError: everything that cannot be laid out, all at once for each step.
    """
    made = materials(job, catalogue)
    plan, warnings = room_plan(job.room, job.header.display)
    places = sites(job, plan, made)
    display = job.header.display
    traps, boxes = corner_places.refusals(job, plan, display), blocked_ways(job)
    _refuse([*extent.refusals(job, places), *refusals(job, places), *traps, *boxes])
    choices = _choices(job, catalogue, sizes)
    parts = together([
        _walls(job, plan, places, made, catalogue, choices=choices),
        *(
            copies(
                (name, _piece(FrameWanted(kind, name, p, job, plan, made[p.make_up], catalogue, choices)))
                for name in p.frame_names
            )
            for kind, _, p in job.pieces()
        ),
    ])  # fmt: skip
    names = {f.name for f in parts.frames}
    unknown = [*strangers(job, names, "warning" if optional else "error"), *_unknown(parts.frames, sizes)]
    _refuse([p for p in unknown if p.severity == "error"] + too_long(parts.frames, catalogue, display))
    held, watched = _holding(places, parts, job, catalogue)
    watched += handling(parts.frames, catalogue, display)
    return Layout(
        room=plan, frames=parts.frames, strips=parts.strips, openings=records(job, catalogue.practice),
        level_line=level_line(job, catalogue.practice),
        hardware=parts.hardware, reasons=(*parts.reasons, *held),
        worked_round=parts.worked_round,
        problems=(*warnings, *unknown, *parts.problems, *watched, *cautions(job, parts.frames, catalogue)),
    )  # fmt: skip


def _piece(wanted: FrameWanted) -> Made:
    """Return one frame of a piece, made in the way of its model."""
    match wanted.piece:
        case Treatment():
            return Made()  # the frames of all treatments are made together
        case Corner() as piece:
            return corner(piece, wanted)
        case Recess() as piece:
            return recess(piece, wanted)
        case Screen() as piece:
            return screen(piece, wanted)
        case Cloud() as piece:
            return cloud(piece, wanted)
        case other:
            assert_never(other)


def _choices(job: Job, catalogue: Catalogue, sizes: Mapping[str, tuple[Nm, Nm]]) -> Choices:
    practice = catalogue.practice
    bevel: BevelRule = "whole" if practice.choice("bevel_rule") == "whole" else "half"
    return Choices(cloths(job, catalogue), sizes, practice, bevel)


def _refuse(problems: Sequence[Problem]) -> None:
    refuse_all(problems)


def _unknown(frames: Sequence[Frame], sizes: Mapping[str, tuple[Nm, Nm]]) -> list[Problem]:
    """Return what is wrong with sizes that name frames: no such frame, or too small to build."""
    named = {f.name: f for f in frames}
    found = list[Problem]()
    for name, size in sizes.items():
        if name not in named:
            what = f"there is no frame {name!r} to change the size of"
            found.append(Problem(name, what, f"There are {', '.join(sorted(named))}."))
        elif min(size) <= 2 * named[name].members[0].thickness:
            what = f"the new size of {name} leaves nothing between its members"
            found.append(Problem(name, what, "Write a larger width and height."))
    return found


def _walls(
    job: Job,
    plan: RoomPlan,
    places: Sequence[Site],
    made: Mapping[str, Material],
    catalogue: Catalogue,
    *,
    choices: Choices,
) -> Made:
    cuts = cut_bands(job, plan, places, made, catalogue)
    _refuse(extent.frames(job, sum(len(cut.pieces) for cut in cuts)))
    walls = wall_frames(job, cuts, choices)
    return replace(walls, frames=tuple(_finished(f, places, catalogue) for f in walls.frames))


def _finished(frame: Frame, places: Sequence[Site], catalogue: Catalogue) -> Frame:
    """Return a wall frame with its fixings and its mass."""
    site = next(s for s in places if s.name == frame.host)
    backing = behind(site.treatment.backing, catalogue.practice)
    held = replace(frame, fixings=fixings(frame, backing, catalogue), spread=spread(frame, backing))
    return weighed(held, catalogue)


def _holding(
    places: Sequence[Site], parts: Made, job: Job, catalogue: Catalogue
) -> tuple[list[str], list[Problem]]:
    reasons, problems = list[str](), list[Problem]()
    for site in places:
        said, watched = holding(site.name, parts.frames, parts.strips, catalogue, job.header.display)
        reasons += said
        problems += watched
    return reasons, problems
