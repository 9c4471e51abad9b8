"""Frames that meet at turns of the plan, against hand geometry."""

import math
from typing import Any

import pytest

from estimator.core.units import INCH
from estimator.layout.assembly import lay_out
from estimator.layout.edges import seat, stop_short
from estimator.layout.records import End, Frame, Layout
from estimator.layout.sites import meeting
from tests.layout.jobs import BOX_ROOM, STANDARD, shipped, write_job

DEEP = {**STANDARD, "member": "member-2x4", "layers": 2, "gap": "1/2 in", "casing": "casing-half-4"}
COVERED = {**STANDARD, "cover": "cover-strip"}
CHAMFERED = [
    {"name": "north", "length": "7 ft", "turn": 45},
    {"name": "chamfer", "length": "50.911688245 in", "turn": 45},
    {"name": "east", "length": "7 ft"}, {"name": "south", "length": "10 ft"},
    {"name": "west", "length": "10 ft"},
]  # fmt: skip
BITTEN = [
    {"name": "north", "length": "6 ft"}, {"name": "step", "length": "4 ft", "turn": -90},
    {"name": "ledge", "length": "4 ft"}, {"name": "east", "length": "6 ft"},
    {"name": "south", "length": "10 ft"},
    {"name": "west", "length": "10 ft"},
]  # fmt: skip


def on(*walls: str, **keys: Any) -> list[dict[str, Any]]:
    return [{"name": w[0].upper(), "on": w, "make-up": "standard", **keys} for w in walls]


def frames(layout: Layout) -> dict[str, Frame]:
    return {f.name: f for f in layout.frames}


def meets(frame: Frame, side: str) -> list[tuple[str, bool, str]]:
    return [(e.meets, e.cased, e.neighbour) for e in frame.edges if e.side == side]


def span(frame: Frame) -> tuple[float, float]:
    return frame.placement.x / INCH, (frame.placement.x + frame.width) / INCH


@pytest.mark.parametrize(
    ("depth_in", "turn", "short_in"),
    [
        (1.5, 45.0, 0.6213),  # 1.5 tan 22.5
        (1.5, 90.0, 1.5),  # 1.5 tan 45
        (1.5, 30.0, 0.4019),  # 1.5 tan 15
        (3.5, 60.0, 2.0207),  # 3.5 tan 30 = 3.5 / sqrt 3
        (1.5, -45.0, -0.6213),
    ],
)
def test_stop_short(depth_in: float, turn: float, short_in: float) -> None:
    assert stop_short(round(depth_in * INCH), turn) / INCH == pytest.approx(short_in, abs=5e-5)


@pytest.mark.parametrize("turn", [30.0, 45.0, 60.0, 90.0, 120.0])
def test_fronts_of_different_depth_meet_in_one_point(turn: float) -> None:
    """The front corner of either frame, in plan coordinates about the corner, is the same point."""
    one, other = 7 * INCH // 4, 2 * INCH
    a, b = meeting(one, other, turn), meeting(other, one, turn)
    t = math.radians(turn)
    front_a = (-a, -one)  # first wall along x, the room below it
    front_b = (b * math.cos(t) - other * math.sin(t), -b * math.sin(t) - other * math.cos(t))
    assert front_a == pytest.approx(front_b, abs=3)


def test_forty_five_degrees_mitred() -> None:
    """North 84 in: frame from 1/2 (casing at the wall) to 84 - 0.621; the chamfer's starts at 0.621."""
    layout = lay_out(write_job(room={"wall": CHAMFERED}, wall=on("north", "chamfer")), shipped())
    found = frames(layout)
    assert span(found["N1"]) == pytest.approx((0.5, 84 - 0.62132), abs=1e-4)
    assert span(found["C1"]) == pytest.approx((0.62132, 50.91169 - 0.5), abs=1e-4)
    (met,) = [e for e in found["N1"].edges if e.side == "right"]
    assert (met.meets, met.neighbour, met.cased, met.turn_deg) == ("angled", "C1", False, 45.0)
    top = next(s for s in layout.strips if s.frame == "N1" and s.side == "top")
    assert top.ends == (End("square"), End("mitre", 22.5))
    assert top.length / INCH == pytest.approx(84 - 0.5, abs=1e-4)  # long point at the back, in the corner


def test_a_bare_wall_that_leans_away_leaves_a_gap_at_the_face() -> None:
    """At 45 degrees the east wall is 1 1/2 in further at the frame's face than at its back."""
    assert seat(3 * INCH // 2, 45.0, INCH // 2).gap == 3 * INCH // 2
    layout = lay_out(write_job(room={"wall": CHAMFERED}, wall=on("chamfer")), shipped())
    assert [p.what for p in layout.problems if p.severity == "warning"] == [
        f'C leaves a gap of 1-1/2" at its face on the {side}: the wall there is not square to it'
        for side in ("left", "right")
    ]


@pytest.mark.parametrize(
    ("turn", "short_in", "bevel"),
    [
        (90.0, 0.0, 0.0),
        (
            80.0,
            -0.26449,
            10.0,
        ),  # the face is 1.5 / tan 80 = 0.264 in further; the strip 1/2 thick there, 0.236 at the back
        (100.0, 0.0, 10.0),  # leans over: 1/2 thick at the back, 0.236 at the face
        (120.0, 0.86603, 0.0),  # 1.5 tan 30 is more than the strip can lose: kept off, square
        (60.0, 0.0, 0.0),
    ],
)
def test_casing_at_a_wall_that_is_not_square(turn: float, short_in: float, bevel: float) -> None:
    found = seat(3 * INCH // 2, turn, INCH // 2)
    assert found.short / INCH == pytest.approx(short_in, abs=1e-5)
    assert found.bevel_deg == bevel


def test_square_inside_corner_mitred() -> None:
    """Each stops 1 1/2 in short: 1.5 tan 45. North's 166 in are three frames: the cloth is 66 in wide."""
    found = frames(lay_out(write_job(wall=on("north", "east")), shipped()))
    assert span(found["N3"])[1] == 168 - 1.5
    assert span(found["E1"])[0] == 1.5


def test_square_inside_corner_butted_the_wider_runs_through() -> None:
    """North runs to the wall without casing; east stops 1 1/2 (depth) + 1/2 (casing) short."""
    layout = lay_out(write_job(wall=on("north", "east")), shipped(corner_rule="butt"))
    found = frames(layout)
    assert span(found["N3"])[1] == 168
    assert span(found["E1"])[0] == 2
    assert [(e.meets, e.cased, e.neighbour) for e in found["N3"].edges if e.side == "right"] == [
        ("wall", False, "E1")
    ]
    assert [(e.meets, e.cased, e.neighbour) for e in found["E1"].edges if e.side == "left"] == [
        ("angled", True, "N3")
    ]


def test_outside_corner_butted() -> None:
    """Equally wide: L runs through by name, to 1 1/2 in past the corner with its casing; S ends at it."""
    layout = lay_out(write_job(room={"wall": BITTEN}, wall=on("step", "ledge")), shipped(corner_rule="butt"))
    found = frames(layout)
    assert (span(found["S1"])[1], span(found["L1"])[0]) == (48, -1)
    assert meets(found["L1"], "left") == [("free", True, "S1")]
    assert meets(found["S1"], "right") == [("frame", False, "L1")]


def test_square_outside_corner_is_butted_where_a_mitred_stile_comes_to_nothing() -> None:
    """1 1/2 in stiles, 1 1/2 in deep: bevelled at 45 degrees nothing is left at the back."""
    job = write_job(room={"wall": BITTEN}, wall=on("step", "ledge"))
    assert [f.width for f in lay_out(job, shipped()).frames] == [
        f.width for f in lay_out(job, shipped(corner_rule="butt")).frames
    ]


def test_outside_corner_mitred_runs_past_and_its_stile_is_bevelled() -> None:
    """A turn of -45: the faces run 1.5 tan 22.5 = 0.621 in past the corner, bevelled by 22.5 degrees."""
    walls = [
        {"name": "north", "length": "6 ft", "turn": -45},
        {"name": "oblique", "length": "33.941125497 in", "turn": 45},
        {"name": "top", "length": "4 ft"}, {"name": "east", "length": "12 ft"},
        {"name": "south", "length": "12 ft"},
        {"name": "west", "length": "10 ft"},
    ]  # fmt: skip
    layout = lay_out(write_job(room={"wall": walls}, wall=on("north", "oblique")), shipped())
    found = frames(layout)
    assert span(found["N1"])[1] == pytest.approx(72 + 0.62132, abs=1e-4)
    assert span(found["O1"])[0] == pytest.approx(-0.62132, abs=1e-4)
    right = next(m for m in found["N1"].members if m.name == "N1 right stile")
    assert right.bevel_deg == 22.5
    rail = next(m for m in found["N1"].members if m.name == "N1 top rail")
    assert rail.ends == (End("square"), End("mitre", 22.5))
    assert rail.length == found["N1"].width


@pytest.mark.parametrize(("rule", "bevels"), [("half", [22.5, 22.5]), ("whole", [0.0, 45.0])])
def test_cover_strips_round_a_corner_share_the_bevel_as_the_shop_says(rule: str, bevels: list[float]) -> None:
    job = write_job(
        room={"wall": CHAMFERED}, wall=on("north", "chamfer"), **{"make-up": {"standard": COVERED}}
    )
    strips = [s for s in lay_out(job, shipped(bevel_rule=rule)).strips if "corner" in s.name]
    assert sorted(s.bevel_deg for s in strips) == bevels
    assert {s.length for s in strips} == {95 * INCH}


def test_deeper_neighbour_keeps_the_other_further_off() -> None:
    """At a square corner each stops the other's depth short: 3 1/2 in and 1 1/2 in."""
    walls = [*on("north"), *on("east", **{"make-up": "deep"})]
    job = write_job(wall=walls, **{"make-up": {"standard": STANDARD, "deep": DEEP}})
    found = frames(lay_out(job, shipped()))
    assert span(found["N3"])[1] == 168 - 3.5
    assert span(found["E1"])[0] == 1.5


def test_an_edge_round_the_corner_is_divided_among_the_frames_it_meets() -> None:
    window = {
        "name": "W",
        "kind": "window",
        "left": "0 in",
        "bottom": "40 in",
        "width": "36 in",
        "height": "30 in",
    }
    job = write_job(wall=[*on("north"), *on("east", opening=[window])])
    right = [e for e in frames(lay_out(job, shipped()))["N3"].edges if e.side == "right"]
    assert sum(e.length for e in right) == 95 * INCH
    assert len([e for e in right if e.neighbour]) == 2  # the panels below and above the window


def test_bulkhead_cuts_the_band() -> None:
    """North's right 12 in are under a bulkhead at 84 in: the frame below is 84 less two casings high."""
    drop = {"name": "D", "wall": "east", "width": "10 ft", "depth": "12 in", "underside": "84 in"}
    layout = lay_out(write_job(room={"wall": BOX_ROOM, "drop": [drop]}, wall=on("north")), shipped())
    under = [f for f in layout.frames if any(e.meets == "bulkhead" and e.side == "top" for e in f.edges)]
    assert [f.height / INCH for f in under] == [84 - 1]
    beside = [e for f in layout.frames for e in f.edges if e.meets == "bulkhead" and e.side == "right"]
    assert [e.length / INCH for e in beside] == [12]  # from 83.5 to the frame's top at 95.5
