"""Whole layouts against hand geometry: every expected length stands beside the job it comes from."""

from dataclasses import replace
from typing import Any

import pytest

from estimator.catalogue.records import Catalogue
from estimator.core.errors import InputError
from estimator.core.units import INCH, Nm, parse_length
from estimator.layout.assembly import lay_out
from estimator.layout.frames import Cloth, seam_reach
from tests.layout.jobs import STANDARD, shipped, write_job

WINDOW = {
    "name": "W1", "kind": "window", "left": "4 ft", "bottom": "3 ft", "width": "4 ft", "height": "3 ft",
    "casing": "2 1/4 in",
}  # fmt: skip


def wall(**keys: Any) -> dict[str, Any]:
    return {"name": "N", "on": "north", "make-up": "standard", **keys}


def sixteenths(*lengths: Nm) -> list[float]:
    return [length / INCH for length in lengths]


def test_one_panel() -> None:
    """A 61 x 61 in band, casing 1/2 in all round: a frame of 60 x 60 in, stiles of 60 - 2 x 1 1/2 = 57 in.

    Bays: ceil((60 - 1.5) / 24) = 3, so 2 studs; cavities (60 - 4 x 1.5) / 3 = 18 in wide, 57 in high.
    """
    band = {"bottom": "20 in", "height": "61 in"}
    layout = lay_out(write_job(wall=[wall(**{"from": "30 in", "to": "91 in", "band": band})]), shipped())
    (frame,) = layout.frames
    assert (frame.name, frame.width, frame.height, frame.depth) == ("N1", 60 * INCH, 60 * INCH, 3 * INCH // 2)
    assert (frame.placement.x, frame.placement.z) == (30 * INCH + INCH // 2, 20 * INCH + INCH // 2)
    lengths = {
        role: [m.length / INCH for m in frame.members if m.role == role] for role in ("rail", "stile", "stud")
    }
    assert lengths == {"rail": [60, 60], "stile": [57, 57], "stud": [57, 57]}
    assert [(c.width / INCH, c.height / INCH) for c in frame.cavities] == [(18, 57)] * 3
    (face,) = frame.faces
    assert face.wrap == parse_length("3 1/2 in")  # 1 1/2 in deep and 2 in to pull by
    assert [(e.side, e.meets, e.cased) for e in frame.edges] == [
        (side, "free", True) for side in ("left", "right", "bottom", "top")
    ]


def test_casings_of_one_panel_butt_with_the_uprights_running_through() -> None:
    """Uprights 60 + 2 x 1/2 = 61 in, level ones 60 in between them; free ends show 1/2 + 1 1/2."""
    band = {"bottom": "20 in", "height": "61 in"}
    layout = lay_out(write_job(wall=[wall(**{"from": "30 in", "to": "91 in", "band": band})]), shipped())
    assert {s.side: s.length / INCH for s in layout.strips} == {
        "left": 61,
        "right": 61,
        "bottom": 60,
        "top": 60,
    }
    assert {s.girth / INCH for s in layout.strips} == {2.0}
    assert {s.sealed for s in layout.strips} == {0}


def test_window_leaves_two_piers_a_panel_below_and_one_above() -> None:
    """Wall 168 x 96, window 48..96 x 36..72, trim 2 1/4, casing 1/2: hole 45 1/4..98 3/4 x 33 1/4..74 3/4."""
    layout = lay_out(write_job(wall=[wall(opening=[WINDOW])]), shipped())
    boxes = [
        sixteenths(f.placement.x, f.placement.z, f.placement.x + f.width, f.placement.z + f.height)
        for f in layout.frames
    ]
    assert boxes == [
        [0.5, 0.5, 45.25, 95.5], [45.25, 0.5, 98.75, 33.25], [45.25, 74.75, 98.75, 95.5],
        [98.75, 0.5, 167.5, 95.5],
    ]  # fmt: skip
    below = layout.frames[1]
    assert {e.side: (e.meets, e.neighbour) for e in below.edges} == {
        "left": ("frame", "N1"), "right": ("frame", "N4"), "bottom": ("floor", ""), "top": ("sill", ""),
    }  # fmt: skip
    assert layout.reasons[0].startswith("N: best of 4 cuttings: 4 frames")


def test_every_refusal_at_once() -> None:
    over = {**WINDOW, "name": "W3", "left": "5 ft", "kind": "door", "bottom": "0 in"}
    outside = {**WINDOW, "name": "W4", "left": "1 ft", "width": "1 ft", "bottom": "1 ft", "height": "6 in"}
    band = {"bottom": "30 in", "height": "50 in"}
    with pytest.raises(InputError) as refused:
        lay_out(write_job(wall=[wall(band=band, opening=[WINDOW, over, outside])]), shipped())
    said = " | ".join(p.what for p in refused.value.problems)
    assert "door W3 and window W1 overlap" in said
    assert "window W4 lies outside the band of N" in said


def test_a_strip_too_narrow_for_a_frame_stays_bare_and_is_named() -> None:
    """Window 3 in from the wall: 3 - 2 x 1/2 = 2 in between the casings, under two members and an inch."""
    near = {**WINDOW, "left": "3 in", "casing": "0 in"}
    layout = lay_out(write_job(wall=[wall(opening=[near])]), shipped())
    said = [p.what for p in layout.problems if p.severity == "warning"]
    assert said == [
        'N: a part of the band beside window W1, 2" x 3\'1", is too narrow for a frame and stays bare'
    ]
    assert all(min(f.width, f.height) > 6 * INCH for f in layout.frames)


def test_a_bare_slot_beside_a_window_is_named_once_and_cased_across() -> None:
    """Window 1 1/4 in from the wall's end: 1 1/4 - 2 x 1/2 = 1/4 in between the casings, less than a casing.

    Slot and window are cased as one: the frame below has one casing along its top, the frame above one
    along its bottom, each 1/4 + 1/2 + 48 + 1/2 in less the lap of the upright casing, 1/2 in.
    """
    near = {**WINDOW, "left": "118 3/4 in", "casing": "0 in"}
    layout = lay_out(write_job(wall=[wall(opening=[near])]), shipped())
    said = [p.what for p in layout.problems if p.severity == "warning"]
    assert said == [
        'N: a part of the band beside window W1, 1/4" x 3\'1", is too narrow for a frame and stays bare'
    ]
    level = sixteenths(*(s.length for s in layout.strips if s.side in {"top", "bottom"}))
    met = {e.meets for f in layout.frames for e in f.edges if e.side in {"top", "bottom"} and e.cased}
    assert met == {"floor", "ceiling", "sill", "casing"}
    assert level.count(48.75) == 2


def test_a_box_under_a_joint_is_named() -> None:
    box = {
        "name": "O",
        "kind": "outlet",
        "left": "83 in",
        "bottom": "12 in",
        "width": "2 in",
        "height": "4 in",
    }
    layout = lay_out(write_job(wall=[wall(opening=[box], frames=["83.5 in", "83.5 in"])]), shipped())
    assert any("lies under the outer members or the casing of N" in p.what for p in layout.problems)


def test_bands_with_no_room_are_refused_by_name() -> None:
    with pytest.raises(InputError, match="no frame fits in the band of N"):
        lay_out(write_job(wall=[wall(to="4 in")]), shipped())
    with pytest.raises(InputError, match="no frame fits in the band of N"):
        lay_out(write_job(wall=[wall(to="0.5 in")]), shipped())


def test_two_treatments_side_by_side_share_a_joint() -> None:
    left, right = wall(to="70 in"), wall(name="M", **{"from": "70 in"})
    layout = lay_out(write_job(wall=[left, right]), shipped())
    first = next(f for f in layout.frames if f.name == "N1")
    assert [(e.meets, e.neighbour, e.cased) for e in first.edges if e.side == "right"] == [
        ("frame", "M1", False)
    ]
    with pytest.raises(InputError, match="treatments N and M cover the same part of wall north"):
        lay_out(write_job(wall=[wall(to="71 in"), right]), shipped())


def test_own_frames_must_fill_the_band() -> None:
    layout = lay_out(write_job(wall=[wall(frames=["60 in", "47 in", "60 in"])]), shipped())
    assert [f.width / INCH for f in layout.frames] == [60, 47, 60]
    assert layout.reasons[0].startswith("N: as the job gives them: 3 frames")
    nearly = lay_out(write_job(wall=[wall(frames=["60 in", "47 in", "60 1/16 in"])]), shipped())
    assert [f.width / INCH for f in nearly.frames] == [60, 47, 60]
    with pytest.raises(InputError, match=r"add up to 10'.*room for 13'11\"\. Make them 3'11\" wider in all"):
        lay_out(write_job(wall=[wall(frames=["60 in", "60 in"])]), shipped())


def test_a_heater_keeps_its_clearance() -> None:
    """Heater 60..90 x 0..8 in, 12 clear round it, casing 1/2: frames end at 47 1/2, again from 102 1/2."""
    heater = {
        "name": "H", "kind": "heater", "left": "60 in", "bottom": "0 in", "width": "30 in", "height": "8 in",
    }  # fmt: skip
    layout = lay_out(write_job(wall=[wall(opening=[heater])]), shipped())
    level = [f for f in layout.frames if f.placement.z < 20 * INCH]
    ends = sorted((f.placement.x / INCH, (f.placement.x + f.width) / INCH) for f in level)
    assert (ends[0][1], ends[-1][0]) == (47.5, 102.5)
    (over,) = [f for f in layout.frames if f.placement.z >= 20 * INCH and f.placement.x / INCH == 47.5]
    assert over.placement.z / INCH == 8 + 12 + 0.5


def test_a_deep_make_up_weighs_its_layers() -> None:
    """Two layers of 1 1/2 in board, 48 kg/m3, in a frame 60 x 84 of 2x4: cavities 3 x 18 x 81 in."""
    deep = {**STANDARD, "member": "member-2x4", "layers": 2, "gap": "1/2 in", "casing": "casing-half-4"}
    band = {"bottom": "0 in", "height": "85 in"}
    job = write_job(wall=[wall(to="61 in", band=band)], **{"make-up": {"standard": deep}})
    frame = lay_out(job, shipped()).frames[0]
    items = shipped()
    boards = 3 * 18 * 81 * 2 * 1.5 * 0.0254**3 * (items.sizes("board-48-1.5")[0].density_kg_m3 or 0)
    wood = (2 * 60 + 4 * 81) * 1.5 * 3.5 * 0.0254**3 * (items.sizes("member-2x4")[0].density_kg_m3 or 0)
    cloth = (60 + 11) * (84 + 11) * 0.0254**2 * (items.sizes("fabric-plain")[0].mass_kg_m2 or 0)
    assert frame.mass_kg == pytest.approx(boards + wood + cloth, rel=1e-9)


@pytest.mark.parametrize(
    ("width", "height", "turn", "reach"),
    [
        (46, 90, False, None),  # 46 + 2 x 3.5 = 53 in goes into 54
        (48, 90, False, 47),  # 55 does not: seams at most 54 - 7 apart
        (48, 46, True, None),  # railroaded, 46 + 7 goes into 54
        (48, 46, False, 47),
    ],
)
def test_cloth_is_seamed_where_it_is_too_narrow(
    width: int, height: int, *, turn: bool, reach: int | None
) -> None:
    cloth = Cloth("plain", "", 7 * INCH // 2, 54 * INCH, turn)
    found = seam_reach(cloth, width * INCH, height * INCH)
    assert found == (None if reach is None else reach * INCH)


def test_cloth_with_a_nap_is_not_turned() -> None:
    """Whatever the price list says of railroading."""
    catalogue = shipped()
    napped = tuple(replace(i, nap=True, railroad=True) if i.kind == "fabric" else i for i in catalogue.items)
    other = Catalogue.of(napped, catalogue.practice, catalogue.terms, catalogue.labour)
    assert not any(f.faces[0].turn_allowed for f in lay_out(write_job(wall=[wall()]), other).frames)
