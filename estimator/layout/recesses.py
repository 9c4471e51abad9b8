"""Removable boxes that fill a window's recess, hung on hooks."""

from collections.abc import Iterator

from estimator.catalogue.records import Catalogue
from estimator.core.errors import InputError, Problem
from estimator.core.units import format_length
from estimator.job.description import Job
from estimator.job.description_pieces import Recess
from estimator.job.description_room import Opening
from estimator.layout.fixings import weight_n
from estimator.layout.holes import found
from estimator.layout.materials import Material
from estimator.layout.pieces import Body, Made, built, together
from estimator.layout.records import SIDES, Frame, Placement
from estimator.layout.wall_frames import Choices


def recesses(job: Job, materials: dict[str, Material], catalogue: Catalogue, choices: Choices) -> Made:
    """Return the recess boxes of the job.

    Raises:
        InputError: a window that is not there, or one that is a way out.
    """
    problems = [p for at, recess in enumerate(job.recesses) for p in _refusals(at, recess, job)]
    if problems:
        raise InputError(problems)
    return together(_recess(r, job, materials[r.make_up], catalogue, choices) for r in job.recesses)


def _opening(recess: Recess, job: Job) -> tuple[str, Opening] | None:
    hosts = {t.name: t.on for t in job.walls}
    wall = hosts.get(recess.wall, recess.wall)
    fits = [f for f in found(job) if f.wall == wall and f.opening.name == recess.opening]
    return (wall, fits[0].opening) if fits else None


def _refusals(at: int, recess: Recess, job: Job) -> Iterator[Problem]:
    place = _opening(recess, job)
    if place is None:
        what = f"there is no opening {recess.opening!r} on wall {recess.wall}"
        yield Problem(f"recess[{at}].opening", what, "Name a window of that wall.")
    elif place[1].egress:
        what = f"{recess.opening} is a way out, and {recess.name} would fill it"
        yield Problem(f"recess[{at}].opening", what, "Leave it open, or settle it with the local authority.")


def _recess(recess: Recess, job: Job, material: Material, catalogue: Catalogue, choices: Choices) -> Made:
    place = _opening(recess, job)
    if place is None:
        return Made()
    wall, opening = place
    practice, display = catalogue.practice, job.header.display
    clear = practice.length("recess_clearance")
    own = (opening.width - 2 * clear, opening.height - 2 * clear)
    body = Body(
        recess.name, recess.name, "recess", material, choices.sizes.get(recess.name, own),
        choices.cloth_of(recess.name, recess.name, material.cloth),
        tuple((side, "casing") for side in SIDES), frozenset(),
        Placement(wall, opening.left + clear, opening.bottom + clear),
    )  # fmt: skip
    made = built(body, catalogue)
    hooks, product = int(practice.number("hooks_per_recess")), practice.choice("product_hook")
    depth = format_length(material.depth, display)
    reason = f"{recess.name}: a box {depth} deep in a recess {format_length(recess.depth, display)} deep."
    return Made(
        (made,), (), ((product, hooks, made.name),), (reason,), tuple(_watch(recess, made, hooks, catalogue))
    )


def _watch(recess: Recess, made: Frame, hooks: int, catalogue: Catalogue) -> Iterator[Problem]:
    practice = catalogue.practice
    if made.depth > recess.depth:
        what = f"{recess.name} is deeper than its recess and stands out into the room"
        yield Problem(recess.name, what, "Choose a thinner make-up.", severity="warning")
    rated = catalogue.sizes(practice.choice("product_hook"))[0].rated_load_n
    needed = weight_n(made.mass_kg) * practice.number("hanger_safety_factor")
    if rated is not None and hooks * rated < needed:
        what = f"{hooks} hooks of {rated:.0f} N do not hold {recess.name} with the shop's safety factor"
        yield Problem(recess.name, what, f"It needs {needed:.0f} N in all.", severity="warning")
