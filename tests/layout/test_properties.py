"""What holds in any room: nothing overlaps or leaves it, and how the plan is listed changes nothing."""

import math
from collections import Counter
from collections.abc import Iterator
from itertools import combinations
from typing import Any

from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from estimator.core.errors import InputError
from estimator.core.units import MM, Nm
from estimator.layout.assembly import lay_out
from estimator.layout.plan import PlanWall
from estimator.layout.records import Frame, Layout
from tests.layout.jobs import shipped, write_job
from tests.layout.rooms import Room, rooms

Spot = tuple[float, float]
EASY = settings(
    max_examples=40, deadline=None, derandomize=True,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
)  # fmt: skip


def laid_out(room: Room, start: int = 0, **choices: str) -> Layout:
    assume(room.treatments)
    try:
        return lay_out(write_job(**room.tables(start)), shipped(**choices))
    except InputError as refused:
        assume(any("no frame fits" not in p.what for p in refused.problems))
        raise


class Solid:
    """A wall frame in the room: its outline on the plan, and its bottom and top."""

    def __init__(self, frame: Frame, wall: PlanWall) -> None:
        self.frame, self.wall = frame, wall
        self.bottom, self.top = frame.placement.z, frame.placement.z + frame.height
        turns = {e.side: e.turn_deg for e in frame.edges if e.meets == "angled" and e.turn_deg < 0}
        self.left, self.right = (
            math.tan(math.radians(-turns.get(side, 0.0)) / 2) if side in turns else 0.0
            for side in ("left", "right")
        )

    def spot(self, along: float, out: float) -> Spot:
        """Return the point of the plan `along` the wall and `out` from it."""
        (x0, y0), (x1, y1) = self.wall.start, self.wall.end
        ux, uy = (x1 - x0) / self.wall.length, (y1 - y0) / self.wall.length
        return x0 + along * ux + out * uy, y0 + along * uy - out * ux

    def spots(self) -> Iterator[Spot]:
        """Yield points just inside the outline: a lattice that takes in the corners."""
        for j in range(5):
            out = MM / 20 + j * (self.frame.depth - MM / 10) / 4
            low = self.frame.placement.x + self.left * (self.frame.depth - out) + MM / 10
            high = self.frame.placement.x + self.frame.width - self.right * (self.frame.depth - out) - MM / 10
            yield from (self.spot(low + i * (high - low) / 24, out) for i in range(25))

    def holds(self, spot: Spot) -> bool:
        (x0, y0), (x1, y1) = self.wall.start, self.wall.end
        ux, uy = (x1 - x0) / self.wall.length, (y1 - y0) / self.wall.length
        along, out = (spot[0] - x0) * ux + (spot[1] - y0) * uy, (spot[0] - x0) * uy - (spot[1] - y0) * ux
        low = self.frame.placement.x + self.left * (self.frame.depth - out)
        high = self.frame.placement.x + self.frame.width - self.right * (self.frame.depth - out)
        return 0 <= out <= self.frame.depth and low <= along <= high

    def level_with(self, other: "Solid") -> bool:
        return min(self.top, other.top) - max(self.bottom, other.bottom) > MM


def solids(layout: Layout) -> list[Solid]:
    walls = {w.name: w for w in layout.room.walls}
    return [Solid(f, walls[f.placement.wall]) for f in layout.frames]


def inside(spot: Spot, ring: list[tuple[Nm, Nm]]) -> bool:
    """Return whether a point is in a polygon, by the crossings of a ray to the right."""
    x, y = spot
    crossings = 0
    for (xa, ya), (xb, yb) in zip(ring, ring[1:] + ring[:1], strict=True):
        if (ya > y) != (yb > y) and x < xa + (y - ya) * (xb - xa) / (yb - ya):
            crossings += 1
    return crossings % 2 == 1


def under_drop(spot: Spot, layout: Layout) -> list[Nm]:
    walls = {w.name: w for w in layout.room.walls}
    low = []
    for drop in layout.room.drops:
        (x0, y0), (x1, y1) = walls[drop.wall].start, walls[drop.wall].end
        long = walls[drop.wall].length
        ux, uy = (x1 - x0) / long, (y1 - y0) / long
        along, out = (spot[0] - x0) * ux + (spot[1] - y0) * uy, (spot[0] - x0) * uy - (spot[1] - y0) * ux
        if drop.x < along < drop.x + drop.width and 0 < out < drop.depth:
            low.append(drop.underside)
    return low


@EASY
@given(rooms(), st.sampled_from(["mitre", "butt"]))
def test_no_frame_overlaps_another(room: Room, rule: str) -> None:
    for a, b in combinations(solids(laid_out(room, corner_rule=rule)), 2):
        if a.level_with(b):
            assert not any(b.holds(s) for s in a.spots()), (a.frame.name, b.frame.name)
            assert not any(a.holds(s) for s in b.spots()), (a.frame.name, b.frame.name)


@EASY
@given(rooms(), st.sampled_from(["mitre", "butt"]))
def test_no_frame_leaves_the_room_or_enters_a_bulkhead(room: Room, rule: str) -> None:
    layout = laid_out(room, corner_rule=rule)
    ring = [w.start for w in layout.room.walls]
    for solid in solids(layout):
        assert solid.bottom >= 0
        for spot in solid.spots():
            assert inside(spot, ring), solid.frame.name
            assert solid.top <= min([layout.room.height, *under_drop(spot, layout)]), solid.frame.name


@EASY
@given(rooms())
def test_no_frame_covers_an_opening(room: Room) -> None:
    layout = laid_out(room)
    for frame in layout.frames:
        left, bottom = frame.placement.x, frame.placement.z
        for o in layout.openings:
            if o.wall == frame.placement.wall:
                c = o.clearance
                beside = left >= o.x + o.width + c or left + frame.width <= o.x - c
                above = bottom >= o.z + o.height + c or bottom + frame.height <= o.z - c
                assert beside or above, (frame.name, o.name)


def quantities(layout: Layout) -> dict[str, Any]:
    """Return everything that is bought or made, to 1/50 mm, names left out.

    The classes start at 0.003 17 mm, so that no length on a whole or half 1/100 mm lies on their border and
    a nanometre of rounding in a turned plan does not tell two lengths apart.
    """

    def mm(*lengths: Nm) -> tuple[float, ...]:
        return tuple((n + 3170) // (MM // 50) / 50 for n in lengths)

    return {
        "frames": Counter(mm(f.width, f.height) for f in layout.frames),
        "members": Counter((m.role, *mm(m.length), m.bevel_deg) for f in layout.frames for m in f.members),
        "cavities": Counter(mm(c.width, c.height) for f in layout.frames for c in f.cavities),
        "edges": Counter((e.meets, e.cased, *mm(e.length)) for f in layout.frames for e in f.edges),
        "strips": Counter((s.kind, *mm(s.length), s.bevel_deg, s.sealed) for s in layout.strips),
        "fixings": Counter((x.holds_in, *mm(x.bite)) for f in layout.frames for x in f.fixings),
    }  # fmt: skip


@EASY
@given(rooms(), st.data(), st.sampled_from(["mitre", "butt"]))
def test_listing_the_walls_from_another_start_turns_the_plan_and_changes_no_quantity(
    room: Room, data: st.DataObject, rule: str
) -> None:
    start = data.draw(st.integers(1, len(room.walls) - 1))
    assert quantities(laid_out(room, corner_rule=rule)) == quantities(laid_out(room, start, corner_rule=rule))


@EASY
@given(rooms(), st.sampled_from(["mitre", "butt"]))
def test_a_mirrored_room_needs_the_same(room: Room, rule: str) -> None:
    assert quantities(laid_out(room, corner_rule=rule)) == quantities(
        laid_out(room.mirrored(), corner_rule=rule)
    )


@EASY
@given(rooms())
def test_the_order_of_treatments_is_irrelevant(room: Room) -> None:
    turned = Room(room.walls, room.drops, room.treatments[::-1])
    assert quantities(laid_out(room)) == quantities(laid_out(turned))
