"""Which cloth goes on which frame: the make-up's, a treatment's, or one frame's own."""

from collections.abc import Callable, Iterator
from dataclasses import replace

from estimator.catalogue.records import Catalogue
from estimator.core.errors import Problem
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
    turns = item.railroad and not item.nap
    return replace(cloth, fabric=fabric, colour="", width=item.width or 0, turn_allowed=turns)


def strangers(job: Job, frames: set[str]) -> Iterator[Problem]:
    """Yield a warning for each colour of a frame that is not there: an option may leave fewer frames."""
    for at, colour in enumerate(job.colours):
        for name in colour.frames:
            if name not in frames:
                fix = f"There are {', '.join(sorted(frames))}."
                where = f"colour[{at}].frames"
                yield Problem(where, f"there is no frame {name!r}", fix, severity="warning")
