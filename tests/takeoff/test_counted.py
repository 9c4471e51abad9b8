"""What is counted is what is done: openings, boxes, covers, floor and bags only where somebody works."""

from collections.abc import Mapping
from decimal import Decimal as D
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.core.units import INCH, MM
from estimator.job.description import Job
from estimator.layout.assembly import lay_out
from estimator.pipeline import estimate
from tests.examples import loaded
from tests.layout.jobs import BOX_ROOM, shipped, write_job
from tests.takeoff.taken import PAINTED, Taken, practising, take, with_item, without

WINDOW = {
    "name": "W1", "kind": "window", "left": "48 in", "bottom": "36 in", "width": "40 in", "height": "30 in",
    "casing": "2 1/4 in",
}  # fmt: skip
FREE = {"bottom": "free", "top": "free", "left": "free", "right": "free"}
BAND = {"bottom": "6 in", "height": "84 in"}


def job(
    walls: list[dict[str, Any]], openings: tuple[Mapping[str, Any], ...] = (), on: str = "east", **tables: Any
) -> Taken:
    """Return the takeoff of panels in a room with openings on one of its walls, the untreated one."""
    return take(described(walls, openings, on, **tables))


def described(
    walls: list[dict[str, Any]], openings: tuple[Mapping[str, Any], ...] = (), on: str = "east", **tables: Any
) -> Job:
    room = {"wall": [{**w, "opening": list(openings)} if w["name"] == on else w for w in BOX_ROOM]}
    return write_job(**{"make-up": {"standard": PAINTED}, "wall": walls, "room": room, **tables})


def north(**keys: Any) -> dict[str, Any]:
    return {"name": "N", "on": "north", "make-up": "standard", **keys}


def box(name: str, left: str, bottom: str, kind: str = "outlet") -> dict[str, str]:
    return {"name": name, "kind": kind, "left": left, "bottom": bottom, "width": "3 in", "height": "4 1/2 in"}


def drivers(taken: Taken) -> dict[str, D]:
    table = taken.takeoff.tables["drivers"]
    return {str(k): D(str(v)) for k, v in zip(table["key"].values, table["quantity"].values, strict=True)}


def cost(taken: Taken) -> object:
    return taken.takeoff.tables["materials_form"]["materials_total"].values[0]


DOOR = {
    "name": "D1", "kind": "door", "left": "20 in", "bottom": "0 in", "width": "36 in", "height": "80 in",
    "casing": "2 1/4 in",
}  # fmt: skip
OUTLETS = tuple(box(f"Q{n}", f"{10 + 10 * n} in", "14 in") for n in range(8))


@pytest.mark.parametrize("openings", [(DOOR,), OUTLETS, (box("S", "10 in", "44 in", "switch"),)])
def test_nobody_works_at_an_opening_of_an_untreated_wall(openings: tuple[Mapping[str, Any], ...]) -> None:
    bare, with_them = job([north(band=BAND)]), job([north(band=BAND)], openings)
    assert drivers(with_them) == drivers(bare)
    assert cost(with_them) == cost(bare)


def test_an_opening_counts_where_frames_go_round_it_and_a_box_counts_as_a_box() -> None:
    """One window in the band; two outlets behind frames."""
    outlets = [box("O1", "20 in", "14 in"), box("O2", "100 in", "14 in")]
    taken = job([north(band=BAND, to="110 in", opening=[WINDOW, *outlets])])
    found = drivers(taken)
    assert (found["openings"], found["boxes"]) == (D(1), D(2))


def test_a_window_beyond_the_band_is_not_gone_round() -> None:
    low = {"bottom": "6 in", "height": "24 in"}
    assert drivers(job([north(band=low)]))["openings"] == 0


@given(st.integers(8, 133), st.integers(2, 92), st.sampled_from(["outlet", "switch"]))
def test_a_box_counts_once_wherever_a_frame_or_its_casing_is_over_it(x: int, z: int, kind: str) -> None:
    """Frames stand on 12..132 in by 6..90 in with free sides; the box has 1/8 in of clearance."""
    sized = north(band=BAND, sides=FREE, **{"from": "12 in", "to": "132 in"})
    frames = lay_out(described([sized], (box("O", f"{x} in", f"{z} in", kind),), "north"), shipped()).frames
    over = x + 3.125 > 12 and x - 0.125 < 132 and z + 4.625 > 6 and z - 0.125 < 90
    assert sum(f.boxes_counted for f in frames) == int(over)
    for frame in frames:
        for hole in frame.cut_outs:
            inner = [m for m in frame.members if m.role == "stud"]
            assert all(m.x + m.thickness <= hole.x or m.x >= hole.x + hole.width for m in inner)


def test_the_cut_out_is_the_box_with_its_clearance() -> None:
    taken = job([north(band=BAND, sides=FREE, opening=[box("O", "40 in", "14 in")])])
    (hole,) = (b for f in taken.layout.frames for b in f.cut_outs)
    assert (hole.width, hole.height) == (3 * INCH + INCH // 4, 9 * INCH // 2 + INCH // 4)


def test_no_cavity_beside_a_box_is_narrower_than_a_strip_of_board_where_another_place_serves() -> None:
    """Whatever the box's place, a bay of 2 ft leaves room for 4 in on one side of it."""
    for left in range(30, 110, 3):
        boxed = north(band=BAND, sides=FREE, opening=[box("O", f"{left} in", "14 in")])
        widths = {c.width for f in lay_out(described([boxed]), shipped()).frames for c in f.cavities}
        assert min(widths) >= 4 * INCH or min(widths) < MM, (left, sorted(w / INCH for w in widths))


SCREEN = {"name": "S", "width": "48 in", "height": "60 in", "make-up": "standard", "feet": "foot-steel-28"}
CLOUD = {"name": "K", "width": "48 in", "length": "72 in", "drop": "8 in", "make-up": "standard"}


def test_floor_is_covered_and_waste_bagged_under_what_is_fixed_on_site() -> None:
    """A cloud is drilled in overhead; a screen comes finished and is stood in its place."""
    alone = drivers(job([north(band=BAND)]))
    screen, cloud = (
        drivers(job([north(band=BAND)], screen=[SCREEN])),
        drivers(job([north(band=BAND)], cloud=[CLOUD])),
    )
    assert screen["protect_area"] == alone["protect_area"] < cloud["protect_area"]
    assert screen["fixed_pieces"] == alone["fixed_pieces"] == cloud["fixed_pieces"] - 1


def test_a_casing_in_a_slot_is_glued_and_others_nailed() -> None:
    """Wall to wall and floor to ceiling nothing can be nailed; a panel in the middle is nailed all round."""
    close = job([north(band="floor to ceiling")]).lines()
    assert not any(key.startswith(("nail:", "filler:")) for key in close)
    run = close["casing:casing-half"].net * 12  # ft to in
    # A bead of 3/16 in by 3/16 in along every casing; 231/128 cubic inches a fluid ounce.
    assert abs(close["mastic:mastic-casing"].net - run * D("0.1875") ** 2 / (D(231) / 128)) < D("0.001")
    apart = job([north(band=BAND, **{"from": "20 in", "to": "80 in"})]).lines()
    assert "mastic:mastic-casing" not in apart
    assert any(key.startswith("nail:") for key in apart)


def test_a_price_list_without_adhesive_and_glue_is_taken_as_it_is() -> None:
    bare = without(without(shipped(), "mastic-casing-10"), "adhesive-wood-16")
    lines = take(described([north(band="floor to ceiling")]), bare).lines()
    assert not any(key.startswith(("mastic:", "adhesive:", "nail:")) for key in lines)


def test_a_seam_is_sewn_stapled_and_makes_a_piece_of_cloth_more() -> None:
    """Cloth 66 in wide does not cover 96 in and what is wrapped: it is joined over a stud."""
    low, wide = {"bottom": "6 in", "height": "60 in"}, {"from": "12 in", "to": "108 in"}
    turned = with_item(shipped(), "fabric-plain-yd", railroad=False)
    turned = practising(with_item(turned, "fabric-plain-roll", railroad=False), frame_width_max=120 * INCH)
    taken = take(described([north(band=low, sides=FREE, **wide)]), turned)
    found, seams = drivers(taken), taken.work("frame_facts", "seams")
    # Between casings of 1/2 in the frame is 95 x 59, 1 1/2 deep, with a pull of 2 in at top and bottom;
    # staples each 1 1/2 in round it, 4 more a corner, and down the stud.
    assert (found["fabric_pieces"], found["seam_length"] * 12) == (1 + seams, seams * 66)
    assert seams >= 1
    assert found["staples"] == 206 + 16 + seams * 40


def test_heavy_cloth_by_its_thickness_takes_a_longer_leg() -> None:
    """3 x 1.5 mm of cloth and 6 mm of wood are 10.5: over a leg of 3/8 in (9.5 mm); 3 x 0.6 and 6 are 7.8."""
    thick = with_item(shipped(), "fabric-plain-yd", thickness=3 * MM // 2)
    thick = with_item(thick, "fabric-plain-roll", thickness=3 * MM // 2)
    for book, staple in ((shipped(), "staple-cloth"), (thick, "staple-heavy")):
        lines = take(described([north(band=BAND)]), book).lines()
        assert [key for key in lines if key.startswith("staple:")] == [f"staple:{staple}"]


@pytest.mark.parametrize(("keys", "said"), [
    ({"band": {"bottom": "6 in", "height": "89 3/4 in"}}, 'a slot of 1/4" is left under the ceiling'),
    ({"band": BAND, "to": "167 1/2 in"}, 'a slot of 1/2" is left at its right'),
    ({"band": BAND, "sides": {"top": "ceiling"}}, 'its top side is to meet the ceiling, which is 6" away'),
    ({"band": "floor to ceiling", "sides": {"bottom": "baseboard"}}, "its band goes to the floor"),
])  # fmt: skip
def test_what_looks_wrong_at_a_bands_end_is_said(keys: dict[str, Any], said: str) -> None:
    problems = lay_out(described([north(**keys)]), shipped()).problems
    assert [p.severity for p in problems if said in p.what] == ["warning"]


def test_names_of_frames_and_openings_may_be_the_same() -> None:
    """A treatment W has a frame W1, and the window is called W1 too."""
    made = described([{**north(band=BAND, opening=[WINDOW]), "name": "W"}])
    result = estimate(made, loaded("one_panel")[1])
    assert {"W1"} <= {f.name for f in result.scope.layout.frames}
