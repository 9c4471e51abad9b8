"""Which cloth goes on which frame: the make-up's, a treatment's, or one frame's own."""

from collections.abc import Callable
from dataclasses import replace

from estimator.catalogue.records import Catalogue
from estimator.core.errors import InputError, Problem
from estimator.job.description import Job
from estimator.layout.materials import Cloth


def cloths(job: Job, catalogue: Catalogue) -> Callable[[str, str, Cloth], Cloth]:
    """Return the function that gives a frame's cloth from its name, its host and its make-up's cloth.

    A colour for a frame goes before one for its treatment; of two for the same, the later one stands.
    """
    by_host = {c.wall: c for c in job.colours if c.wall is not None}
    by_frame = {name: c for c in job.colours for name in c.frames}

    def cloth_of(frame: str, host: str, cloth: Cloth) -> Cloth:
        for chosen in (by_host.get(host), by_frame.get(frame)):
            if chosen is None:
                continue
            if chosen.fabric is not None and chosen.fabric != cloth.fabric:
                cloth = _other(cloth, chosen.fabric, catalogue)
            if chosen.colour is not None:
                cloth = replace(cloth, colour=chosen.colour)
        return cloth

    return cloth_of


def _other(cloth: Cloth, fabric: str, catalogue: Catalogue) -> Cloth:
    item = catalogue.sizes(fabric)[0]
    if not item.width:
        raise InputError([Problem(fabric, "the cloth has no width in the price list", "Give its width.")])
    return replace(
        cloth, fabric=fabric, colour="", width=item.width, turn_allowed=item.railroad and not item.nap,
    )  # fmt: skip


def strangers(job: Job, frames: set[str], hosts: set[str]) -> list[Problem]:
    """Return a problem for each colour that names a frame, treatment or piece that is not there.

    A missing frame is a warning only: an option may leave a treatment with fewer frames.
    """
    found = []
    for at, colour in enumerate(job.colours):
        for name in colour.frames:
            if name not in frames:
                what = f"there is no frame {name!r}"
                fix = f"There are {', '.join(sorted(frames))}."
                found.append(Problem(f"colour[{at}].frames", what, fix, severity="warning"))
        if colour.wall is not None and colour.wall not in hosts:
            what = f"there is no treatment or piece {colour.wall!r}"
            found.append(Problem(f"colour[{at}].wall", what, f"There are {', '.join(sorted(hosts))}."))
    return found
