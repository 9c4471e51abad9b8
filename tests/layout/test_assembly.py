"""Whole layouts against hand geometry: every expected length stands beside the job it comes from."""

from typing import Any

import pytest

from estimator.core.errors import InputError
from estimator.core.units import INCH, Nm, parse_length
from estimator.layout.assembly import lay_out
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
    beyond = {**WINDOW, "name": "W2", "left": "13 ft"}
    over = {**WINDOW, "name": "W3", "left": "5 ft", "kind": "door", "bottom": "0 in"}
    outside = {**WINDOW, "name": "W4", "left": "1 ft", "width": "1 ft", "bottom": "1 ft", "height": "6 in"}
    band = {"bottom": "30 in", "height": "50 in"}
    with pytest.raises(InputError) as refused:
        lay_out(write_job(wall=[wall(band=band, opening=[WINDOW, beyond, over, outside])]), shipped())
    said = " | ".join(p.what for p in refused.value.problems)
    assert "window W2 runs" in said
    assert "door W3 and window W1 overlap" in said
    assert "window W4 lies outside the band of N" in said


def test_a_strip_too_narrow_for_a_frame_stays_bare_and_is_named() -> None:
    """Window 3 in from the wall: 3 - 2 x 1/2 = 2 in between the casings, under two members and an inch."""
    near = {**WINDOW, "left": "3 in", "casing": "0 in"}
    layout = lay_out(write_job(wall=[wall(opening=[near])]), shipped())
    said = [p.what for p in layout.problems if p.severity == "warning"]
    assert said == ['N: a part of the band 2" x 3\'1" is too narrow for a frame and stays bare']
    assert all(min(f.width, f.height) > 6 * INCH for f in layout.frames)


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
    assert any("under the outer members of N" in p.what for p in layout.problems)


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


def test_a_make_up_must_fill_its_frame() -> None:
    with pytest.raises(
        InputError, match=r'boards and gap make 2" \(1 x 1-1/2" \+ 1/2"\), the frame is 1-1/2" deep'
    ):
        lay_out(
            write_job(wall=[wall()], **{"make-up": {"standard": {**STANDARD, "gap": "1/2 in"}}}), shipped()
        )


def test_own_frames_must_fill_the_band() -> None:
    layout = lay_out(write_job(wall=[wall(frames=["60 in", "47 in", "60 in"])]), shipped())
    assert [f.width / INCH for f in layout.frames] == [60, 47, 60]
    nearly = lay_out(write_job(wall=[wall(frames=["60 in", "47 in", "60 1/16 in"])]), shipped())
    assert [f.width / INCH for f in nearly.frames] == [60, 47, 60]
    with pytest.raises(InputError, match=r"add up to 10'.*room for 13'11\"\. Make them 3'11\" wider in all"):
        lay_out(write_job(wall=[wall(frames=["60 in", "60 in"])]), shipped())
