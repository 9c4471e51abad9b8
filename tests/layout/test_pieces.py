"""Corner traps, recess boxes, screens and clouds, against hand geometry and statics."""

import itertools
import math
from typing import Any

import pytest

from estimator.core.errors import InputError
from estimator.core.units import FOOT, INCH, Nm
from estimator.layout.assembly import lay_out
from estimator.layout.corner_places import chord, clear_of, triangle_sheet
from estimator.layout.records import Frame, Hardware, Layout
from estimator.layout.room_pieces import Grid, hanger_grid, tip_factor
from tests.layout.jobs import BOX_ROOM, STANDARD, shipped, write_job

TRAP = {"name": "T", "between": ["north", "east"], "make-up": "standard", "leg": "12 in"}
SCREEN = {"name": "S", "width": "48 in", "height": "60 in", "make-up": "standard", "feet": "foot-steel-28"}
CLOUD = {"name": "K", "width": "48 in", "length": "96 in", "drop": "8 in", "make-up": "standard"}
WINDOW = {
    "name": "W",
    "kind": "window",
    "left": "48 in",
    "bottom": "36 in",
    "width": "40 in",
    "height": "30 in",
}
FULL = {"name": "N", "on": "north", "make-up": "standard"}


def laid_out(**tables: Any) -> Layout:
    return lay_out(write_job(**tables), shipped())


def only(layout: Layout) -> Frame:
    (frame,) = layout.frames
    return frame


@pytest.mark.parametrize(
    ("turn", "expected_in"),
    [(90.0, 16.97056), (60.0, 20.78461), (120.0, 12.0), (45.0, 22.17311)],
    ids=["12 sqrt 2", "12 sqrt 3", "equilateral", "24 cos 22.5"],
)
def test_chord(turn: float, expected_in: float) -> None:
    assert chord(12 * INCH, turn) / INCH == pytest.approx(expected_in, abs=1e-5)


def test_flat_trap() -> None:
    """Square corner, legs 12 in: 16.971 in from wall to wall, strips of 1/2 in, bevelled by 45."""
    layout = laid_out(corner=[TRAP])
    frame = only(layout)
    assert (frame.kind, frame.host) == ("corner", "T")
    assert frame.width / INCH == pytest.approx(12 * math.sqrt(2) - 1, abs=1e-6)
    assert frame.height / INCH == 95
    assert {s.bevel_deg for s in layout.strips if s.side in {"left", "right"}} == {45.0}
    assert [m.length / INCH for m in frame.members if m.role == "brace"] == [92, 92]


def test_a_trap_in_a_wider_corner_has_a_flatter_bevel() -> None:
    """Walls at 135 degrees (turn 45): the strips are bevelled by 90 - 22.5 = 67.5 to lie on them."""
    walls = [
        {"name": "north", "length": "7 ft", "turn": 45},
        {"name": "chamfer", "length": "50.911688245 in", "turn": 45},
        {"name": "east", "length": "7 ft"}, {"name": "south", "length": "10 ft"},
        {"name": "west", "length": "10 ft"},
    ]  # fmt: skip
    layout = laid_out(room={"wall": walls}, corner=[{**TRAP, "between": ["north", "chamfer"]}])
    assert {s.bevel_deg for s in layout.strips if s.side in {"left", "right"}} == {67.5}
    assert only(layout).width / INCH == pytest.approx(22.17311 - 1, abs=1e-5)


def test_a_trap_s_screws_bite_its_cleats() -> None:
    """Through a frame of 3 1/2 in into a cleat of 1 1/2: 4 in bites 1/2, 5 in bites 1 1/2, 1 is asked."""
    deep = {**STANDARD, "member": "member-2x4", "layers": 2, "gap": "1/2 in", "casing": "casing-half-4"}
    frame = only(laid_out(corner=[{**TRAP, "make-up": "deep"}], **{"make-up": {"deep": deep}}))
    held = {(f.screw, f.bite / INCH) for f in frame.fixings if f.holds_in == "frame"}
    assert held == {("screw-fixing-5", 1.5)}


def test_solid_trap_is_a_stack_of_triangles() -> None:
    """Frame 47 in high, boards 1 1/2 in: 31 triangles, two from each 12 x 12 in piece, so 16 pieces."""
    frame = only(laid_out(corner=[{**TRAP, "kind": "solid", "height": "48 in"}]))
    (stack,) = frame.cavities
    assert (stack.width / INCH, stack.height / INCH, stack.layers) == (12, 12, 16)


def test_triangles_of_another_angle_come_from_the_rhombus_box() -> None:
    """Walls at 120 degrees: two triangles make a rhombus of side 12, in a box of 18 by 6 sqrt 3."""
    width, height = triangle_sheet(12 * INCH, 60.0)
    assert (width / INCH, height / INCH) == pytest.approx((18, 10.3923), abs=1e-4)


def test_wall_frames_keep_clear_of_a_trap() -> None:
    """leg 12 + 1.5 sin 45 = 13.0607 in from the corner, then the casing's 1/2."""
    assert clear_of(12 * INCH, 3 * INCH // 2, 90.0) / INCH == pytest.approx(13.06066, abs=1e-5)
    layout = laid_out(corner=[TRAP], wall=[FULL])
    last = max(f.placement.x + f.width for f in layout.frames if f.kind == "wall")
    assert last / INCH == pytest.approx(168 - 13.06066 - 0.5, abs=1e-4)


def test_a_trap_under_a_bulkhead_ends_at_it() -> None:
    """Bulkhead along the east wall, underside 84 in: the trap's frame is 84 less two casings high."""
    drop = {"name": "D", "wall": "east", "width": "10 ft", "depth": "12 in", "underside": "84 in"}
    frame = only(laid_out(room={"drop": [drop]}, corner=[TRAP]))
    assert frame.height / INCH == 83
    assert [e.meets for e in frame.edges if e.side == "top"] == ["bulkhead"]
    with pytest.raises(InputError, match=r"corner trap T reaches 8'0\".*is at 7'0\""):
        laid_out(room={"drop": [drop]}, corner=[{**TRAP, "height": "96 in"}])


@pytest.mark.parametrize(
    ("trap", "said"),
    [
        ({"leg": "90 in"}, "corner trap T stands before window W"),
        ({"bottom": "96 in"}, "corner trap T has no height left"),
    ],
)
def test_a_trap_that_does_not_fit_is_refused(trap: dict[str, Any], said: str) -> None:
    walls = [{**BOX_ROOM[0], "opening": [WINDOW]}, *BOX_ROOM[1:]]
    with pytest.raises(InputError, match=said):
        laid_out(room={"wall": walls}, corner=[{**TRAP, **trap}])


def test_a_cloud_whose_place_is_given_must_be_in_the_room_and_clear_of_bulkheads() -> None:
    """Room 168 x 120 in, cloud 48 x 96: at 84, 60 it fits; at 20, 60 it reaches 4 in into the west wall."""
    drop = {"name": "D", "wall": "north", "width": "14 ft", "depth": "24 in", "underside": "84 in"}

    def said(x: str, y: str, **room: Any) -> list[str]:
        layout = laid_out(room=room, cloud=[{**CLOUD, "at": {"x": x, "y": y}}])
        return [p.what for p in layout.problems if p.severity == "warning"]

    assert said("84 in", "60 in") == []
    assert said("20 in", "60 in") == ["K reaches into a wall of the room"]
    assert said("84 in", "60 in", drop=[drop]) == ["K would hang in bulkhead D"]


def test_recess_box() -> None:
    """Window 40 x 30 in less 1/8 in on each side; four hooks."""
    layout = laid_out(wall=[{**FULL, "opening": [WINDOW]}], recess=[
        {"name": "R", "wall": "N", "opening": "W", "depth": "4 in", "make-up": "standard"},
    ])  # fmt: skip
    box = next(f for f in layout.frames if f.kind == "recess")
    assert (box.width / INCH, box.height / INCH) == (39.75, 29.75)
    assert (box.placement.wall, box.placement.x / INCH, box.placement.z / INCH) == ("north", 48.125, 36.125)
    assert layout.hardware == (Hardware("hook-recess", 4, "R", "hooks_per_recess"),)
    assert not any(s.frame == "R" for s in layout.strips)


def test_a_way_out_is_not_filled() -> None:
    with pytest.raises(InputError, match="W is a way out, and R would fill it"):
        laid_out(wall=[{**FULL, "opening": [{**WINDOW, "egress": True}]}], recess=[
            {"name": "R", "wall": "N", "opening": "W", "depth": "4 in", "make-up": "standard"},
        ])  # fmt: skip


def test_tip_factor() -> None:
    """30 kg on feet 0.8 m front to back, pushed with 40 N at 1.5 m: 30 x 9.80665 x 0.4 / 60 = 1.961."""
    assert tip_factor(30.0, 0.8, 40.0, 1.5) == pytest.approx(1.96133, abs=1e-5)


def test_screen_has_two_faces_feet_and_says_how_it_stands() -> None:
    layout = laid_out(screen=[{**SCREEN, "count": 2}])
    assert [f.name for f in layout.frames] == ["S1", "S2"]
    assert [f.name for f in layout.frames[0].faces] == ["S1 front", "S1 back"]
    feet = (Hardware("foot-steel-28", 2, name, "feet_per_screen") for name in ("S1", "S2"))
    assert layout.hardware == tuple(feet)
    (tips,) = [p for p in layout.problems if "tips too easily" in p.what]
    assert tips.what.startswith("each of S1, S2 tips too easily")
    assert "ballast" in tips.fix


def test_copies_that_differ_are_spoken_of_one_by_one() -> None:
    job = write_job(screen=[{**SCREEN, "count": 3}])
    changed = {"S3": (48 * INCH, 66 * INCH)}
    said = [p.what for p in lay_out(job, shipped(), sizes=changed).problems if "tips too" in p.what]
    assert [what.split(" tips")[0] for what in said] == ["each of S1, S2", "S3"]


def test_hanger_grid_by_spacing_then_by_load() -> None:
    """48 x 96 in, 6 in from the edges, 48 in apart at most: 2 in a row, 84 / 48 -> 3 rows, a quarter at most.

    1 000 N, factor 5, rated 441 N: no hanger may carry more than 0.0882 of the weight.
    """
    grid = hanger_grid(48 * INCH, 96 * INCH, 100.0, 500.0, shipped())
    assert (grid.across, grid.along, grid.share) == (2, 3, 0.25)
    heavy = hanger_grid(48 * INCH, 96 * INCH, 1000.0, 441.0, shipped())
    assert heavy.share * 5000 <= 441
    assert Grid(heavy.across, heavy.along - 1).share * 5000 > 441


def test_hanger_grid_by_load_by_hand() -> None:
    """1 000 N with factor 5 are 11.34 times 441 N, and each of 2 hangers in a row has half a row's share.

    Along: ceil(11.34 / 2) = 6 parts are 7 rows of 2, 14 hangers. Across: 3 rows halve the load as well, so 7
    in each of 3 rows, 21 hangers. The fewer are taken.
    """
    grid = hanger_grid(48 * INCH, 96 * INCH, 1000.0, 441.0, shipped())
    assert (grid.across, grid.along) == (2, 7)


@pytest.mark.parametrize(("newtons_a_square_foot", "more"), [(2, 0), (4, 0), (8, 0), (16, 0.125)])
def test_hangers_are_the_fewest_of_any_grid_that_carries(newtons_a_square_foot: int, more: float) -> None:
    """By trying every grid: clouds up to 8 x 12 ft; the bare one above has 4 N a square foot."""
    for width, length in itertools.product(range(2, 9), range(2, 13)):
        weight = float(width * length * newtons_a_square_foot)
        spaced = hanger_grid(width * FOOT, length * FOOT, 0.0, None, shipped())
        grids = (Grid(a, b) for a in range(spaced.across, 40) for b in range(spaced.along, 40))
        fewest = min(g.points for g in grids if g.share * weight * 5 <= 441)
        grid = hanger_grid(width * FOOT, length * FOOT, weight, 441.0, shipped())
        assert grid.share * weight * 5 <= 441
        assert fewest <= grid.points <= fewest * (1 + more)


def test_cloud_hangs_from_its_points_under_the_ceiling() -> None:
    layout = laid_out(cloud=[CLOUD])
    frame = only(layout)
    assert frame.placement.z / INCH == 96 - 8 - 1.5
    assert len(frame.fixings) == 6
    assert {x.holds_in for x in frame.fixings} == {"hanger"}
    assert all(6 * INCH <= x.x <= frame.width - 6 * INCH for x in frame.fixings)
    assert layout.hardware == (Hardware("hanger-cable", 6, "K"),)
    assert [p.where for p in layout.problems if "hangs over people" in p.what] == ["K"]


def test_mass_is_volume_times_density() -> None:
    """Cloud 48 x 96: members 450 kg/m3, boards 48 kg/m3, cloth as the price list has it, added up by hand."""
    frame, items = only(laid_out(cloud=[CLOUD])), shipped()

    def metres(inches: float) -> float:
        return inches * 0.0254

    wood = (2 * 48 + 3 * 93) * 1.5 * 1.5 * 0.0254**3 * (items.sizes("member-2x2")[0].density_kg_m3 or 0)
    boards = (48 - 3 * 1.5) * 93 * 1.5 * 0.0254**3 * (items.sizes("board-48-1.5")[0].density_kg_m3 or 0)
    cloth = metres(48 + 7) * metres(96 + 7) * (items.sizes("fabric-plain")[0].mass_kg_m2 or 0)
    assert frame.mass_kg == pytest.approx(wood + boards + cloth, rel=1e-9)


def test_every_kind_yields_the_same_records() -> None:
    layout = laid_out(corner=[TRAP], screen=[SCREEN], cloud=[CLOUD])
    for frame in layout.frames:
        assert {e.side for e in frame.edges} == {"left", "right", "bottom", "top"}
        assert frame.members
        assert frame.cavities
        assert frame.faces
        assert frame.mass_kg > 0
        assert all(isinstance(m.length, Nm) for m in frame.members)
