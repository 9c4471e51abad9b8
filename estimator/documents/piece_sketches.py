"""How a piece that is no wall frame stands or hangs: corner trap, recess box, screen, cloud."""

import math
from collections.abc import Sequence
from typing import assert_never

from estimator.core.units import Display, Nm, format_length
from estimator.documents.canvas import SMALL, TINY, Canvas
from estimator.documents.lettering import Box
from estimator.documents.views import Place
from estimator.job.description_pieces import Cloud, Corner, Recess, Screen, Treatment
from estimator.layout.corner_places import chord
from estimator.layout.records import Frame
from estimator.pipeline import Estimate, Scope

WIDTH_MM, TALL_MM = 88.0, 58.0


def piece_sketch(frame: Frame, estimate: Estimate) -> str:
    """Return a sketch of how a piece meets the building as SVG; '' for wall frames."""
    scope, display = estimate.scope, estimate.units.display
    match scope.job.piece(frame.host):
        case Treatment():
            return ""
        case Corner() as corner:
            return _corner(frame, corner, scope, display)
        case Recess() as recess:
            return _recess(frame, recess, display)
        case Screen() as screen:
            return _screen(frame, estimate.catalogue.sizes(screen.feet)[0].length or 0, display)
        case Cloud() as cloud:
            return _cloud(frame, cloud, scope, display)
        case other:
            assert_never(other)


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
    canvas.rect(Box(left, feet[0][1], right - left, deep), "cloth2")
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
    canvas.rect(Box(left - 10, top, 10, recess.depth * scale), "building")
    canvas.rect(Box(left + wide, top, 10, recess.depth * scale), "building")
    canvas.rect(Box(left, top, wide, 0.8), "opening")
    face = top + recess.depth * scale
    back = max(face - frame.depth * scale, top + 1)
    canvas.rect(Box(left + 1, back, wide - 2, frame.depth * scale), "cloth2")
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
    canvas.rect(Box(middle - deep / 2, foot - 1.5 - tall, deep, tall), "cloth2")
    half = reach * scale / 2
    canvas.path([(middle - half, foot), (middle, foot - 6), (middle + half, foot)], "hollow", closed=True)
    canvas.label([[format_length(frame.height, display), "high"]], [(middle + 14, foot - 1.5 - tall / 2)],
                 turn=False, sizes=(SMALL,))  # fmt: skip
    canvas.label([[f"foot {format_length(reach, display)} front to back"]], [(middle, foot + 4)],
                 turn=False, sizes=(SMALL, TINY))  # fmt: skip
    return canvas.svg(f"Screen {frame.name} from its side on a foot of {format_length(reach, display)}")


def _cloud(frame: Frame, cloud: Cloud, scope: Scope, display: Display) -> str:
    """Return a cloud from its side, below the ceiling."""
    canvas = Canvas(WIDTH_MM, 44)
    ceiling, left, wide = 6.0, 8.0, 46.0
    canvas.rect(Box(left - 4, ceiling - 3, wide + 8, 3), "building")
    scale = wide / frame.width
    drop = min(max(cloud.drop * scale, 6), 18)
    canvas.rect(Box(left, ceiling + drop, wide, max(frame.depth * scale, 2)), "cloth2")
    for x in sorted({f.x for f in frame.fixings}):
        canvas.line((left + x * scale, ceiling), (left + x * scale, ceiling + drop), "thin")
    under = scope.layout.room.height - cloud.drop - frame.depth
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
