"""Where a piece that is no wall frame goes, in sentences: each with measures a tape can be put to."""

from collections.abc import Iterator
from typing import assert_never

from estimator.core.units import Display, format_length
from estimator.job.description import Job
from estimator.job.description_pieces import Cloud, Corner, Recess, Screen, Treatment
from estimator.layout.records import Frame
from estimator.pipeline import Estimate


def placing(frame: Frame, estimate: Estimate) -> Iterator[str]:
    """Yield sentences that say where a frame goes; none for a wall frame, which the elevation shows."""
    job, display = estimate.job, estimate.units.display
    match job.piece(frame.host):
        case Treatment():
            return
        case Corner() as corner:
            yield from _across(frame, corner, display)
        case Recess() as box:
            yield from _inside(frame, box, display)
        case Screen():
            yield "Stands free on its two feet, one at each end; where, the client says. Keep ways out free."
        case Cloud() as cloud:
            under = estimate.scope.layout.room.height - cloud.drop - frame.depth
            yield (
                f"Its top is {format_length(cloud.drop, display)} below the ceiling, its underside "
                f"{format_length(under, display)} above the floor."
            )
            yield from _below(frame, cloud, job)
        case other:
            assert_never(other)


def _across(frame: Frame, corner: Corner, display: Display) -> Iterator[str]:
    leg, walls = format_length(corner.leg, display), " and ".join(corner.between)
    bottom = format_length(frame.placement.z, display)
    yield f"In the corner of the {walls} walls: mark {leg} from the corner on each."
    yield f"The frame's bottom is {bottom} above the floor, its casing outside it on every side."
    yield (
        "Screw a cleat to each wall just behind the marks, on the side of the corner, so that the "
        "frame's back bears on both; then screw the frame to the cleats."
    )


def _inside(frame: Frame, box: Recess, display: Display) -> Iterator[str]:
    at = frame.placement
    left, bottom = format_length(at.x, display), format_length(at.z, display)
    yield f"In the recess of {box.opening}, {at.wall} wall."
    yield f"Left side {left} from the wall's left end, bottom {bottom} above the floor."
    yield "It stays removable: it is hung on its hooks and neither screwed nor sealed."


def _below(frame: Frame, cloud: Cloud, job: Job) -> Iterator[str]:
    if cloud.at is None or cloud.count > 1:
        yield "Where it hangs on the plan is agreed on site."
        return
    first, corner = job.room.walls[0].name, (cloud.at.x - frame.width // 2, cloud.at.y - frame.height // 2)
    left, near, x, y = (format_length(v, job.header.display) for v in (*corner, cloud.at.x, cloud.at.y))
    yield (
        f"Measured from the left end of the {first} wall: left side {left} along that wall, near side {near} "
        f"out from it, so the middle is at {x} and {y}."
    )
    yield (
        f"Hanger places are given from the cloud's left side and from its side away from the {first} wall, "
        "as seen on the plan."
    )
