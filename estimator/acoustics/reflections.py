"""First reflections: every first-order image of a loudspeaker in the room's walls, floor and ceiling.

The plan is any closed polygon of upright walls, clockwise as seen from above, as walls are listed from
inside, left to right. Points are (x, y, z) in metres. Reflection is taken as from a large plane mirror with
the surface's diffuse-field absorption; what edges and small panels scatter is left out.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TypeAlias

from estimator.acoustics.ratings import OCTAVES_HZ, SPEED_OF_SOUND_M_S, Six
from estimator.acoustics.reverberation import CAP
from estimator.core.errors import Problem, refuse_all

Point: TypeAlias = tuple[float, float, float]
Spot: TypeAlias = tuple[float, float]

EARLY_MS = 15.0
"""Reflections within this time of the direct sound are judged. Source: ITU-R BS.1116-3; EBU Tech 3276 2.2."""
EARLY_DB = -10.0
"""They should stay at or below this, re the direct sound, 1-8 kHz. Source: as above (from memory)."""
JUDGED_HZ = (1000, 2000, 4000)
FLOOR, CEILING = "floor", "ceiling"
ON_EDGE_M = 1e-9


@dataclass(frozen=True, slots=True)
class ReflectingWall:
    """An upright wall from `start` (its left end seen from inside) to `end`, and what it absorbs bare."""

    name: str
    start: Spot
    end: Spot
    height_m: float
    alpha: Six


@dataclass(frozen=True, slots=True)
class Panel:
    """A treated rectangle: on a wall, u along it from its left end and v up from the floor, m.

    On floor or ceiling u and v are x and y of the plan.
    """

    name: str
    on: str
    left_m: float
    bottom_m: float
    width_m: float
    height_m: float
    alpha: Six

    def holds(self, u: float, v: float) -> bool:
        """Return whether a point of its wall lies on it, its edges counted in."""
        across = self.left_m - ON_EDGE_M <= u <= self.left_m + self.width_m + ON_EDGE_M
        return across and self.bottom_m - ON_EDGE_M <= v <= self.bottom_m + self.height_m + ON_EDGE_M


@dataclass(frozen=True, slots=True)
class ReflectingRoom:
    """The room for reflections: walls in order round the plan, floor and ceiling bare, and panels."""

    walls: tuple[ReflectingWall, ...]
    height_m: float
    floor_alpha: Six
    ceiling_alpha: Six
    panels: tuple[Panel, ...] = ()


@dataclass(frozen=True, slots=True)
class Reflection:
    """One first-order reflection, or the place where one would be.

    Attributes:
        surface: wall's name, 'floor' or 'ceiling'.
        path_m: length from source over the surface to the listener, m.
        delay_ms: after the direct sound.
        point: where it strikes, m; (u, v) of it on the surface in `spot`.
        on_surface: whether the point lies on the surface itself, not only on its plane.
        visible: whether it lies on the surface and no other wall stands in the way.
        panel: name of the panel it strikes, '' for the bare surface.
        level_before_db, level_after_db: the greatest of the octaves 1 to 4 kHz re the direct sound, bare and
            as treated.
        early: within 15 ms of the direct sound.
        strong: visible, early, and still above -10 dB as treated.
    """

    surface: str
    path_m: float
    delay_ms: float
    point: Point
    spot: Spot
    on_surface: bool
    visible: bool
    panel: str
    level_before_db: float
    level_after_db: float
    early: bool
    strong: bool


@dataclass(frozen=True, slots=True)
class _Mirror:
    """A plane: a point on it, its unit normal into the room, its u axis, and what it absorbs bare."""

    name: str
    origin: Point
    normal: Point
    along: Point
    alpha: Six
    wall: ReflectingWall | None


def _minus(a: Point, b: Point) -> Point:
    return (a[0] - b[0], a[1] - b[1], a[2] - b[2])


def _dot(a: Point, b: Point) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def _on_line(a: Point, b: Point, t: float) -> Point:
    return (a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1]), a[2] + t * (b[2] - a[2]))


def _mirrors(plan: ReflectingRoom) -> Iterator[_Mirror]:
    for wall in plan.walls:
        dx, dy = wall.end[0] - wall.start[0], wall.end[1] - wall.start[1]
        length = math.hypot(dx, dy)
        along = (dx / length, dy / length, 0.0)
        yield _Mirror(wall.name, (*wall.start, 0.0), (along[1], -along[0], 0.0), along, wall.alpha, wall)
    x = (1.0, 0.0, 0.0)
    yield _Mirror(FLOOR, (0.0, 0.0, 0.0), (0.0, 0.0, 1.0), x, plan.floor_alpha, None)
    yield _Mirror(CEILING, (0.0, 0.0, plan.height_m), (0.0, 0.0, -1.0), x, plan.ceiling_alpha, None)


def inside(walls: Sequence[ReflectingWall], spot: Spot) -> bool:
    """Return whether a point of the plan lies within the walls (even-odd rule)."""
    x, y = spot
    odd = False
    for wall in walls:
        (x1, y1), (x2, y2) = wall.start, wall.end
        if (y1 > y) != (y2 > y) and x < x1 + (y - y1) / (y2 - y1) * (x2 - x1):
            odd = not odd
    return odd


def _crosses(a: Spot, b: Spot, wall: ReflectingWall) -> bool:
    """Whether the wall lies across the way from a to b, ends of the way not counted."""
    (x1, y1), (x2, y2) = wall.start, wall.end
    dx, dy, wx, wy = b[0] - a[0], b[1] - a[1], x2 - x1, y2 - y1
    cross = dx * wy - dy * wx
    if abs(cross) < ON_EDGE_M:
        return False
    t = ((x1 - a[0]) * wy - (y1 - a[1]) * wx) / cross
    s = ((x1 - a[0]) * dy - (y1 - a[1]) * dx) / cross
    return ON_EDGE_M < t < 1 - ON_EDGE_M and -ON_EDGE_M <= s <= 1 + ON_EDGE_M


def clear(walls: Sequence[ReflectingWall], a: Point, b: Point, but: str = "") -> bool:
    """Return whether no wall other than `but` stands between two points of the plan."""
    return not any(_crosses(a[:2], b[:2], w) for w in walls if w.name != but)


def _spot(mirror: _Mirror, point: Point) -> Spot:
    if mirror.wall is None:
        return point[:2]
    return (_dot(_minus(point, mirror.origin), mirror.along), point[2])


def _on_surface(plan: ReflectingRoom, mirror: _Mirror, spot: Spot) -> bool:
    if mirror.wall is None:
        return inside(plan.walls, spot)
    wall = mirror.wall
    length = math.dist(wall.start, wall.end)
    return -ON_EDGE_M <= spot[0] <= length + ON_EDGE_M and -ON_EDGE_M <= spot[1] <= wall.height_m + ON_EDGE_M


def _level_db(alpha: Six, direct_m: float, path_m: float) -> float:
    """Return the greatest level of the octaves that are judged, re the direct sound."""
    spread = 20 * math.log10(direct_m / path_m)
    judged = (alpha[OCTAVES_HZ.index(hz)] for hz in JUDGED_HZ)
    return max(spread + 10 * math.log10(1 - min(a, CAP)) for a in judged)


def _image(mirror: _Mirror, source: Point, listener: Point) -> tuple[float, Point] | None:
    """Path length and strike point by the image in a mirror, None from behind it."""
    away = _dot(_minus(source, mirror.origin), mirror.normal)
    back = _dot(_minus(listener, mirror.origin), mirror.normal)
    if away <= 0 or back <= 0:
        return None
    n = mirror.normal
    image = (source[0] - 2 * away * n[0], source[1] - 2 * away * n[1], source[2] - 2 * away * n[2])
    return math.dist(image, listener), _on_line(image, listener, away / (away + back))


def _reflection(
    plan: ReflectingRoom, mirror: _Mirror, source: Point, listener: Point, c: float
) -> Reflection | None:
    found = _image(mirror, source, listener)
    if found is None:
        return None
    path, point = found
    direct = math.dist(source, listener)
    spot = _spot(mirror, point)
    on_surface = _on_surface(plan, mirror, spot)
    ways = ((source, point), (point, listener))
    visible = on_surface and all(clear(plan.walls, a, b, but=mirror.name) for a, b in ways)
    panel = next((p for p in plan.panels if on_surface and p.on == mirror.name and p.holds(*spot)), None)
    before = _level_db(mirror.alpha, direct, path)
    after = _level_db(panel.alpha, direct, path) if panel else before
    delay = (path - direct) / c * 1000
    return Reflection(
        surface=mirror.name,
        path_m=path,
        delay_ms=delay,
        point=point,
        spot=spot,
        on_surface=on_surface,
        visible=visible,
        panel=panel.name if panel else "",
        level_before_db=before,
        level_after_db=after,
        early=delay <= EARLY_MS,
        strong=visible and delay <= EARLY_MS and after > EARLY_DB,
    )


def _place(plan: ReflectingRoom, name: str, point: Point) -> list[Problem]:
    if inside(plan.walls, point[:2]) and 0 < point[2] < plan.height_m:
        return []
    said = f"({point[0]:g}, {point[1]:g}, {point[2]:g}) m is not inside the room"
    return [Problem(name, said, "Give a point between the walls, floor and ceiling.")]


def check_places(plan: ReflectingRoom, source: Point, listener: Point) -> None:
    """Refuse positions outside the room or on one another.

    Raises:
        InputError: with every position that cannot be.
    """
    problems = _place(plan, "loudspeaker", source) + _place(plan, "listening", listener)
    if math.dist(source, listener) <= ON_EDGE_M:
        problems.append(Problem("listening", "is where the loudspeaker is", "Move one of them."))
    refuse_all(problems)


def first_reflections(
    plan: ReflectingRoom, source: Point, listener: Point, c: float = SPEED_OF_SOUND_M_S
) -> tuple[Reflection, ...]:
    """Return every first-order reflection from a loudspeaker to a listener, the earliest first.

    Level re direct: 20 lg(direct / path) + 10 lg(1 - alpha), alpha at most 0.99. Reflections whose image
    lies behind its wall as seen by source or listener do not exist and are left out; those that strike a
    plane beside its surface, or are hidden by another wall, are kept and marked.

    Args:
        plan: the room.
        source: the loudspeaker, m.
        listener: the listening position, m.
        c: speed of sound, m/s.

    Raises:
        InputError: a position outside the room, or both in one place.

    Source: Allen and Berkley, J. Acoust. Soc. Am. 65 (1979); Borish, ibid. 75 (1984) for any plan.
    """
    check_places(plan, source, listener)
    found = [_reflection(plan, mirror, source, listener, c) for mirror in _mirrors(plan)]
    return tuple(sorted((r for r in found if r), key=lambda r: (r.path_m, r.surface)))
