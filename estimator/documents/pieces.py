"""How a piece that is no wall frame stands or hangs: sentences with measures for a tape, and a sketch."""

import math
from collections.abc import Iterator, Sequence
from typing import assert_never

from estimator.core.units import Display, Nm, format_length
from estimator.documents.canvas import SMALL, TINY, Canvas, PaperBox, Place
from estimator.job.description import Job
from estimator.job.description_pieces import Cloud, Corner, Recess, Screen, Treatment
from estimator.layout.corner_places import chord
from estimator.layout.records import Frame
from estimator.pipeline import Estimate, Scope


def placing(frame: Frame, estimate: Estimate) -> tuple[list[str], str]:
    """Return where a piece goes, in sentences, and a sketch (SVG) of how it meets the building.

    Both are empty for a wall frame, which the elevation shows.
    """
    scope, display = estimate.scope, estimate.units.display
    match scope.job.piece(frame.host):
        case Treatment():
            return [], ""
        case Corner() as corner:
            return list(_across(frame, corner, display)), _corner(frame, corner, scope, display)
        case Recess() as box:
            return list(_inside(frame, box, display)), _recess(frame, box, display)
        case Screen() as screen:
            where = (
                "Stands free on its two feet, one at each end; where, the client says. Keep ways out free."
            )
            return [where], _screen(frame, estimate.catalogue.sizes(screen.feet)[0].length or 0, display)
        case Cloud() as cloud:
            under = scope.layout.room.height - cloud.drop - frame.depth
            return list(_below(frame, cloud, under, scope.job)), _cloud(frame, cloud, under, display)
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


def _below(frame: Frame, cloud: Cloud, under: Nm, job: Job) -> Iterator[str]:
    drop, above = (format_length(v, job.header.display) for v in (cloud.drop, under))
    yield f"Its top is {drop} below the ceiling, its underside {above} above the floor."
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


WIDTH_MM, TALL_MM = 88.0, 58.0


def _corner(frame: Frame, corner: Corner, scope: Scope, display: Display) -> str:
    """Return the plan of a trap across its corner: walls, legs and the distance from wall to wall."""
    wall = next(w for w in scope.layout.room.walls if w.name == corner.between[0])
    half = math.radians(180 - wall.turn_deg) / 2
    canvas, leg = Canvas(WIDTH_MM, TALL_MM), 34.0 / max(math.cos(half), 0.6)
    apex = (WIDTH_MM / 2, 9.0)
    feet = [(apex[0] + s * leg * math.sin(half), apex[1] + leg * math.cos(half)) for s in (-1, 1)]
    ends = [
        (apex[0] + s * 1.15 * leg * math.sin(half), apex[1] + 1.15 * leg * math.cos(half)) for s in (-1, 1)
    ]
    canvas.path([ends[0], apex, ends[1]], "corner")
    scale = leg / corner.leg
    deep, casing = frame.depth * scale, (chord(corner.leg, wall.turn_deg) - frame.width) / 2 * scale
    left, right = feet[0][0] + casing, feet[1][0] - casing
    canvas.rect(PaperBox(left, feet[0][1], right - left, deep), "cloth2")
    canvas.line(feet[0], feet[1], "thin")
    length = format_length(corner.leg, display)
    for side, (foot, name) in zip((-1, 1), zip(feet, corner.between, strict=True), strict=True):
        x, y = (apex[0] + foot[0]) / 2, (apex[1] + foot[1]) / 2
        words = [[f"{name} wall", f"{length} from corner"], [name, length]]
        canvas.label(
            words, [(x + side * off, y - 2) for off in (14, 17, 20, 11)], turn=False, sizes=(SMALL, TINY)
        )
    middle = feet[0][1] + deep / 2
    text = f"{format_length(frame.width, display)} frame"
    canvas.label(
        [[text]], [(apex[0], middle), (apex[0], feet[0][1] + deep + 3)], turn=False, sizes=(SMALL, TINY)
    )
    across = f"{format_length(chord(corner.leg, wall.turn_deg), display)} from wall to wall"
    canvas.label([[across]], [(apex[0], feet[0][1] - 2.5), (apex[0], feet[0][1] + deep + 6)],
                 turn=False, sizes=(SMALL, TINY))  # fmt: skip
    return canvas.svg(f"Plan of corner trap {frame.name}: {length} along each wall from the corner, {across}")


def _recess(frame: Frame, recess: Recess, display: Display) -> str:
    """Return the level section of a box in its recess."""
    canvas, scale = Canvas(WIDTH_MM, 44), 26.0 / max(recess.depth, frame.depth)
    top, left, wide = 9.0, 14.0, WIDTH_MM - 28
    canvas.rect(PaperBox(left - 10, top, 10, recess.depth * scale), "building")
    canvas.rect(PaperBox(left + wide, top, 10, recess.depth * scale), "building")
    canvas.rect(PaperBox(left, top, wide, 0.8), "opening")
    face = top + recess.depth * scale
    back = max(face - frame.depth * scale, top + 1)
    canvas.rect(PaperBox(left + 1, back, wide - 2, frame.depth * scale), "cloth2")
    width, depth = format_length(frame.width, display), format_length(frame.depth, display)
    canvas.label([[f"box {width} wide, {depth} deep"]], [(WIDTH_MM / 2, back + frame.depth * scale / 2)],
                 turn=False, sizes=(SMALL, TINY))  # fmt: skip
    canvas.label([[f"recess {format_length(recess.depth, display)} deep, glass behind"]],
                 [(WIDTH_MM / 2, 5), (WIDTH_MM / 2, face + 4)], turn=False, sizes=(SMALL, TINY))  # fmt: skip
    return canvas.svg(f"Level section of box {frame.name}, {depth} deep, in its recess")


def _screen(frame: Frame, reach: Nm, display: Display) -> str:
    """Return a screen from its side, on its foot."""
    canvas = Canvas(WIDTH_MM, TALL_MM)
    scale = min(44.0 / frame.height, (WIDTH_MM - 40) / max(reach, frame.depth))
    foot, middle = TALL_MM - 8, WIDTH_MM / 2
    canvas.line((8, foot), (WIDTH_MM - 8, foot), "floor")
    tall, deep = frame.height * scale, max(frame.depth * scale, 1.2)
    canvas.rect(PaperBox(middle - deep / 2, foot - 1.5 - tall, deep, tall), "cloth2")
    half = reach * scale / 2
    canvas.path([(middle - half, foot), (middle, foot - 6), (middle + half, foot)], "hollow", closed=True)
    canvas.label([[format_length(frame.height, display), "high"]], [(middle + 14, foot - 1.5 - tall / 2)],
                 turn=False, sizes=(SMALL,))  # fmt: skip
    canvas.label([[f"foot {format_length(reach, display)} front to back"]], [(middle, foot + 4)],
                 turn=False, sizes=(SMALL, TINY))  # fmt: skip
    return canvas.svg(f"Screen {frame.name} from its side on a foot of {format_length(reach, display)}")


def _cloud(frame: Frame, cloud: Cloud, under: Nm, display: Display) -> str:
    """Return a cloud from its side, below the ceiling."""
    canvas = Canvas(WIDTH_MM, 44)
    ceiling, left, wide = 6.0, 8.0, 46.0
    canvas.rect(PaperBox(left - 4, ceiling - 3, wide + 8, 3), "building")
    scale = wide / frame.width
    drop = min(max(cloud.drop * scale, 6), 18)
    canvas.rect(PaperBox(left, ceiling + drop, wide, max(frame.depth * scale, 2)), "cloth2")
    for x in sorted({f.x for f in frame.fixings}):
        canvas.line((left + x * scale, ceiling), (left + x * scale, ceiling + drop), "thin")
    words: Sequence[tuple[str, float]] = (
        (f"{format_length(cloud.drop, display)} below", ceiling + drop / 2),
        (f"underside {format_length(under, display)}", ceiling + drop + 4),
    )
    for text, y in words:
        spots: list[Place] = [(left + wide + 17, y + off) for off in (0, 3, 6)]
        canvas.label([[text]], spots, turn=False, sizes=(SMALL, TINY))
    return canvas.svg(
        f"Cloud {frame.name} from its side, {words[0][0]} the ceiling, {words[1][0]} above the floor"
    )
