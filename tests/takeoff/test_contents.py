"""Which lines a layout asks for, who adds to them, and what drives the hours: pieces worked out by hand."""

from dataclasses import replace
from decimal import Decimal as D

import pytest

from estimator.calc.evaluation import number
from estimator.catalogue.records import Catalogue
from estimator.core.errors import InputError
from tests.layout.jobs import STANDARD, shipped, write_job
from tests.takeoff.taken import PAINTED, Taken, panel, practising, take, walls, without

OUTLET = {
    "name": "O", "kind": "outlet", "left": "40 in", "bottom": "20 in", "width": "3 in", "height": "4 1/2 in",
}  # fmt: skip
WINDOW = {
    "name": "W", "kind": "window", "left": "40 in", "bottom": "30 in", "width": "32 in", "height": "30 in",
    "casing": "2 in",
}  # fmt: skip
SCREEN = {"name": "S", "width": "48 in", "height": "60 in", "make-up": "standard", "feet": "foot-steel-28"}
CLOUD = {"name": "K", "width": "48 in", "length": "72 in", "drop": "8 in", "make-up": "standard"}


def pieces(catalogue: Catalogue | None = None, **tables: object) -> Taken:
    return take(write_job(**{"make-up": {"standard": PAINTED}, **tables}), catalogue)


def drivers(taken: Taken) -> dict[str, D]:
    table = taken.takeoff.tables["drivers"]
    return {str(k): D(str(v)) for k, v in zip(table["key"].values, table["quantity"].values, strict=True)}


def test_an_outlet_behind_a_frame_asks_for_an_extension_by_the_licensed_trade() -> None:
    plain = take(walls(panel(to="73 in")))
    boxed = take(walls(panel(to="73 in", opening=[OUTLET])))
    assert not [key for key in plain.lines() if key.startswith("extension:")]
    (key,) = [key for key in boxed.lines() if key.startswith("extension:")]
    assert boxed.lines()[key].net == 1
    (row,) = boxed.takeoff.trail(key)
    assert (row.source, row.quantity) == (boxed.layout.frames[0].name, D(1))
    assert drivers(boxed)["boxes"] == 1


def test_film_is_listed_where_the_shop_lays_it_over_the_cloth() -> None:
    bare = take(walls(panel(to="73 in")), practising(shipped(), film_over_fabric=0))
    laid = take(walls(panel(to="73 in")), practising(shipped(), film_over_fabric=1))
    assert bare.lines()["film:film-masking"].net == 0
    (key,) = [key for key in laid.lines() if key.startswith("film:")]
    assert laid.lines()[key].net == 35  # a face of 5 x 7 ft


def test_the_shortest_nail_that_bites_and_stays_in_the_member_is_taken() -> None:
    # 1/2 in casing and the shop's bite of 3/4 in: 1 1/4 in. Without it the next is 1 1/2 in, with 1 in in
    # a member of 1 1/2 in; a nail of 2 1/2 in would come out on the other side.
    job = walls(panel(to="73 in"))
    assert "nail:brad-18-1.25" in take(job).lines()
    assert "nail:brad-18-1.5" in take(job, without(shipped(), "brad-18-1.25")).lines()
    nails = [i.key for i in shipped().sizes("brad-18")]
    long = replace(shipped().item("brad-18-1.25"), key="long", length=25_400_000 * 5 // 2)
    only_long = without(shipped(), *nails)
    refused = Catalogue.of(
        (*only_long.items, long), only_long.practice, only_long.terms, only_long.labour, only_long.prices_name
    )
    with pytest.raises(InputError, match="no nail of brad-18"):
        take(job, refused)


def test_unpainted_casings_need_neither_paint_nor_sandpaper() -> None:
    bare = {k: v for k, v in PAINTED.items() if k not in {"finish", "primer"}}
    lines = take(walls(panel(to="73 in"), **{"make-up": {"standard": bare}})).lines()
    assert not [k for k in lines if k.split(":")[0] in {"paint", "primer", "sandpaper"}]
    # Masking follows the sealant alone: one line, the length of the casings.
    assert lines["masking:tape-masking"].net == lines["casing:casing-half"].net


def test_a_screen_has_two_faces_and_feet_and_is_fixed_to_nothing() -> None:
    screen = pieces(screen=[SCREEN])
    lines = screen.lines()
    (frame,) = screen.layout.frames
    assert len(frame.faces) == 2
    # Around each face 2 x (48 + 60) = 216 in, a staple every 1 1/2 in, 4 more at each of 4 corners: 160.
    assert lines["staple:staple-cloth"].net == 2 * (216 / D("1.5") + 16)
    feet = next(held.count for held in screen.layout.hardware if held.product == "foot-steel-28")
    assert lines["foot:foot-steel-28"].net == feet
    assert not [k for k in lines if k.startswith("screw:screw-fixing")]
    sums = drivers(screen)
    assert [sums[k] for k in ("screens", "hung_pieces", "fabric_pieces")] == [D(1), D(0), D(2)]
    assert sums["face_area"] == 2 * sums["frame_area"] == 40


def test_a_cloud_is_held_by_retainers_whatever_its_height() -> None:
    cloud = pieces(cloud=[CLOUD])
    work = cloud.takeoff.tables["frame_work"]
    boards = drivers(cloud)["board_pieces"]
    assert boards > 0
    assert work.value("retainers", 0) == 2 * boards
    assert cloud.lines()["screw:screw-retainer"].net == 2 * boards
    sums = drivers(cloud)
    assert sums["clouds"] == 1
    assert sums["hardware_pieces"] == sum(held.count for held in cloud.layout.hardware) >= 4


def test_low_frames_need_no_retainers() -> None:
    low, tall = take(walls(panel(to="73 in", high="49 in"))), take(walls(panel(to="73 in", high="50 in")))
    # Casings of 1/2 in: frames of 48 and 49 in; the rule is 'taller than 4 ft'.
    assert low.lines()["screw:screw-retainer"].net == 0
    assert tall.lines()["screw:screw-retainer"].net == 2 * drivers(tall)["board_pieces"]


def test_a_corner_trap_is_taken_off_member_by_member() -> None:
    trap = pieces(corner=[{"name": "T", "between": ["north", "east"], "make-up": "standard", "leg": "12 in"}])
    own = sum(m.length for f in trap.layout.frames for m in f.members)
    assert trap.lines()["member:member-2x2"].net == pytest.approx(D(own) / 304_800_000, abs=D("0.0001"))


def test_the_floor_is_protected_once_however_many_frames_stand_above_it() -> None:
    # Left and right of a window frames stand alone; under and over it there are two.
    taken = take(walls(panel(to="120 in", opening=[WINDOW])))
    frames = taken.layout.frames
    work = taken.takeoff.tables["frame_work"]
    protected = {str(k): v for k, v in zip(work["key"].values, work["protection"].values, strict=True)}
    above = {
        f.name
        for f in frames
        for g in frames
        if g.placement.z < f.placement.z and abs(g.placement.x - f.placement.x) < g.width
    }
    assert len(above) == 1
    assert {name for name, area in protected.items() if not area} == above
    low = [f for f in frames if f.name not in above]
    assert drivers(taken)["protect_area"] == sum(D(f.width) for f in low) / 304_800_000 * 6


def test_the_drivers_of_one_panel_by_hand() -> None:
    # A frame of 60 x 84 in: 2 rails and 4 uprights, 8 joints; 35 ft2; 24 ft of edge; cloth of 66 in does not
    # cover 60 + 2 x 3 1/2, so it has a seam with 84 / 1 1/2 = 56 staples; casings of 24 1/4 ft,
    # painted twice in the shop; on site only the line of sealant is masked.
    sums = drivers(take(walls(panel(to="73 in"))))
    expected: dict[str, int | D] = {
        "frames": 1, "hung_pieces": 1, "member_cuts": 6, "joints": 8, "frame_area": 35, "fabric_pieces": 2,
        "face_area": 35, "cavity_area": D("30.375"), "wrapped_edge": 24, "staples": 264, "nails": 28,
        "casing_length": D("24.25"), "sealant_length": D("24.25"), "finished_length_coats": D("48.5"),
        "touched_length": D("24.25"),
        "primed_length": D("24.25"), "masked_length": D("24.25"), "protect_area": 30, "casing_pieces": 4,
        "fixing_screws": 8, "visits": 1, "journeys": 2, "job": 1, "tip_runs": 1, "painted_length_coats": 0,
    }  # fmt: skip
    assert {key: sums[key] for key in expected} == {k: D(v) for k, v in expected.items()}


def test_a_solid_trap_needs_the_boards_of_its_stack() -> None:
    """Legs 18 in, 96 in high, boards 1 1/2 in: 64 triangles from 32 squares of 2.25 sq ft."""
    bare = {"member": "member-2x2", "board": "board-48-1.5", "fabric": "fabric-rib"}
    trap = {"name": "T", "between": ["north", "east"], "kind": "solid", "leg": "18 in", "make-up": "bare"}
    taken = take(walls(**{"make-up": {"bare": bare}, "corner": [trap]}))
    assert taken.lines()["board:board-48-1.5"].net == 72
    assert drivers(taken)["board_pieces"] > 0
    assert taken.lines()["screw:screw-retainer"].net == 0  # the stack stands in the corner, behind the frame


def test_covers_for_hardware_are_left_out_where_the_price_list_has_none() -> None:
    wall = [panel(to="120 in", opening=[WINDOW])]
    assert "guard:guard-hardware" in pieces(wall=wall).lines()
    assert "guard:guard-hardware" not in pieces(without(shipped(), "guard-hardware-20"), wall=wall).lines()


def test_heavy_cloth_takes_the_heavy_staple_where_the_price_list_has_one() -> None:
    """Velour of 420 g/m2 is over the shop's 400; plain cloth of 290 is not."""
    velour = {"standard": {**STANDARD, "fabric": "fabric-velour"}}
    heavy = walls(panel(to="49 in"), **{"make-up": velour})
    lines = take(heavy).lines()
    assert "staple:staple-heavy" in lines
    assert "staple:staple-cloth" not in lines
    assert "staple:staple-cloth" in take(walls(panel(to="49 in"))).lines()
    assert "staple:staple-cloth" in take(heavy, without(shipped(), "staple-heavy-5000")).lines()


def test_corner_tee_and_other_joints_are_counted_apart() -> None:
    # 60 in wide: two stiles and two studs between two rails, so 4 corners and 4 tees.
    work = pieces(wall=[panel(to="73 in")]).takeoff.tables["frame_work"]
    kinds = {k: work.value(k) for k in ("corner_joints", "tee_joints", "other_joints", "joints")}
    assert kinds == {"corner_joints": 4, "tee_joints": 4, "other_joints": 0, "joints": 8}


def test_nails_and_staples_are_lost_as_the_shop_says_of_fasteners() -> None:
    lines = take(walls(panel()), edits={"waste.share.fastener": D("0.5")}).takeoff.tables["lines"]
    rows = zip(map(str, lines["key"].values), lines["net"].values, lines["need"].values, strict=True)
    lost = {key.partition(":")[0]: number(need) / number(net) for key, net, need in rows if number(net)}
    assert {kind: lost[kind] for kind in ("nail", "staple")} == {"nail": 1.5, "staple": 1.5}
