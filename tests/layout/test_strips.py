"""Casing and cover strips: lengths, saw settings, and that nothing of the band is left over."""

from collections.abc import Iterator
from itertools import combinations
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from estimator.core.errors import InputError
from estimator.core.units import INCH
from estimator.layout.assembly import lay_out
from estimator.layout.records import Frame, Layout, Strip
from estimator.layout.shapes import Rect
from tests.layout.jobs import BOX_ROOM, STANDARD, shipped, write_job
from tests.layout.rooms import inch, lengths

COVERED = {**STANDARD, "cover": "cover-strip"}
PANEL = {
    "name": "N", "on": "north", "make-up": "standard", "from": "30 in", "to": "91 in",
    "band": {"bottom": "20 in", "height": "61 in"},
}  # fmt: skip
FULL = {"name": "N", "on": "north", "make-up": "standard"}


def strips_of(layout: Layout, kind: str = "casing") -> dict[str, Strip]:
    return {s.name: s for s in layout.strips if s.kind == kind}


def test_mitred_casings_reach_past_the_frame_at_both_ends() -> None:
    """60 in frame, 1/2 in strips: 61 in long point to long point, all four, 45 degrees at each end."""
    found = strips_of(lay_out(write_job(wall=[PANEL]), shipped(casing_corner="mitre")))
    assert {s.length / INCH for s in found.values()} == {61}
    assert {(e.cut, e.angle_deg) for s in found.values() for e in s.ends} == {("mitre", 45.0)}


def test_an_upright_at_floor_and_ceiling_is_scribed_with_the_extra_left_on() -> None:
    """Frame 95 in, strip 95 + 2 x 1/2 to floor and ceiling, 1/4 in left on each end: 96 1/2."""
    found = strips_of(lay_out(write_job(wall=[FULL]), shipped()))
    left = found["N1 left casing"]
    assert (left.length / INCH, left.allowance / INCH) == (96.5, 1.5)
    assert [(e.cut, e.extra / INCH) for e in left.ends] == [("scribe", 0.25)] * 2
    assert (left.sealed, left.girth / INCH) == (1, 0.5)
    assert left.ripped  # from stock 2 in wide to the frame's 1 1/2


def test_casings_round_a_window_butt_inside_its_corners() -> None:
    """Window 48 x 36: grown by 1/2 the uprights are 37, the level ones 48 between them."""
    window = {
        "name": "W",
        "kind": "window",
        "left": "60 in",
        "bottom": "30 in",
        "width": "48 in",
        "height": "36 in",
    }
    found = strips_of(lay_out(write_job(wall=[{**FULL, "opening": [window]}]), shipped()))
    assert found["N1 right casing"].length / INCH == 37
    assert found["N2 top casing"].length / INCH == 48
    assert found["N2 top casing"].allowance / INCH == -1
    assert found["N3 bottom casing"].length / INCH == 48


def test_cover_strips_of_panels_that_run_through() -> None:
    """A window 10 in from both walls: panels run through, four level joints 10 - 1/2 - 1/2 = 9 in long."""
    room = {"wall": [{"name": n, "length": "8 ft"} for n in ("north", "east", "south", "west")]}
    window = {
        "name": "W",
        "kind": "window",
        "left": "10 in",
        "bottom": "40 in",
        "width": "76 in",
        "height": "16 in",
    }
    job = write_job(room=room, wall=[{**FULL, "opening": [window]}], **{"make-up": {"standard": COVERED}})
    found = strips_of(lay_out(job, shipped()), "cover")
    assert sorted(s.length / INCH for s in found.values()) == [9, 9, 9, 9]
    assert {s.girth / INCH for s in found.values()} == {2.0}  # 1 1/2 + 2 x 1/4


def test_cover_strips_at_a_tee() -> None:
    """Two frames over one: the upright joint above ends on the level one and its strip stops 3/4 in short."""
    low = {**FULL, "name": "L", "band": {"bottom": "0 in", "height": "40 in"}, "to": "80 in"}
    band = {"bottom": "40 in", "height": "56 in"}
    high = {**FULL, "name": "H", "band": band, "to": "80 in", "frames": ["40 in", "39 in"]}
    job = write_job(wall=[low, high], **{"make-up": {"standard": COVERED}})
    layout = lay_out(job, shipped())
    found = strips_of(layout, "cover")
    assert {name: (s.length / INCH, s.allowance / INCH) for name, s in found.items()} == {
        "L1 top cover": (40, 0), "L1 top cover 2": (39, 0), "H1 right cover": (55.5 - 0.75, -0.75),
    }  # fmt: skip


@st.composite
def walls(draw: st.DrawFn) -> dict[str, Any]:
    """A wall 240 in long, its band, and up to two openings a foot from each other and from its ends."""
    openings, at = [], 14.0
    for i in range(draw(st.integers(0, 2))):
        wide = draw(lengths(14, 80))
        kind = draw(st.sampled_from(["window", "door"]))
        bottom = 0.0 if kind == "door" else draw(lengths(22, 40))
        trim = draw(st.sampled_from([0.0, 2.0]))
        openings.append({
            "name": f"O{i}", "kind": kind, "left": inch(at), "bottom": inch(bottom), "width": inch(wide),
            "height": inch(draw(lengths(20, 36))), "casing": inch(trim),
        })  # fmt: skip
        at += wide + 14
    bottom = draw(st.sampled_from([0.0, 6.0]))
    band = {"bottom": inch(bottom), "height": inch(draw(lengths(88, 90)))}
    return {**FULL, "band": band, "opening": openings}


@settings(max_examples=80, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow])
@given(walls())
def test_frames_casings_and_openings_are_the_band(treatment: dict[str, Any]) -> None:
    """Material: frames + strips (scribe extras cut off) + openings with their trim = the band, to the nm2."""
    room = {"wall": [{**w, "length": "240 in"} for w in BOX_ROOM]}
    layout = lay_out(write_job(room=room, wall=[treatment]), shipped())
    frames = sum(f.width * f.height for f in layout.frames)
    strips = sum((s.length - sum(e.extra for e in s.ends)) * s.thickness for s in layout.strips)
    bottom = 6 * INCH if treatment["band"]["bottom"].startswith("6") else 0
    top = bottom + round(float(treatment["band"]["height"].split()[0]) * INCH)
    openings = 0
    for o, row in zip(layout.openings, treatment["opening"], strict=True):
        trim = round(float(row["casing"].split()[0]) * INCH)
        low, high = max(o.z - trim, bottom), min(o.z + o.height + trim, top)
        openings += (o.width + 2 * trim) * (high - low)
    assert frames + strips + openings == 240 * INCH * (top - bottom)
    laid = [*(_frame_rect(f) for f in layout.frames), *_strip_rects(layout)]
    assert all(not a.overlaps(b) for a, b in combinations(laid, 2))
    assert all(r.left >= 0 and r.bottom >= bottom and r.right <= 240 * INCH and r.top <= top for r in laid)


def _frame_rect(frame: Frame) -> Rect:
    at = frame.placement
    return Rect(at.x, at.z, at.x + frame.width, at.z + frame.height)


def _strip_rects(layout: Layout) -> Iterator[Rect]:
    """Yield each casing where it starts and ends on the wall, what is left on to scribe cut off."""
    frames = {f.name: _frame_rect(f) for f in layout.frames}
    for s in layout.strips:
        r, (first, last) = frames[s.frame], (end.extra for end in s.ends)
        start, end = s.start + first, s.start + s.length - last
        side = {
            "left": (r.left - s.thickness, r.bottom + start, r.left, r.bottom + end),
            "right": (r.right, r.bottom + start, r.right + s.thickness, r.bottom + end),
            "bottom": (r.left + start, r.bottom - s.thickness, r.left + end, r.bottom),
            "top": (r.left + start, r.top, r.left + end, r.top + s.thickness),
        }
        yield Rect(*side[s.side])


@pytest.mark.parametrize(("size", "strip"), [((50 * INCH, 60 * INCH), 50), ((60 * INCH, 70 * INCH), 60)])
def test_a_frame_that_the_office_resized_is_built_to_its_size(size: tuple[int, int], strip: float) -> None:
    layout = lay_out(write_job(wall=[PANEL]), shipped(), {"N1": size})
    (frame,) = layout.frames
    assert (frame.width, frame.height) == size
    assert [m.length for m in frame.members if m.role == "rail"] == [size[0]] * 2
    assert [m.length for m in frame.members if m.role == "stile"] == [size[1] - 3 * INCH] * 2
    found = strips_of(layout)
    assert found["N1 top casing"].length / INCH == strip
    assert found["N1 left casing"].length == size[1] + INCH
    assert (frame.faces[0].width, frame.faces[0].height) == size
    assert sum(c.width for c in frame.cavities) == size[0] - (2 + len(frame.cavities) - 1) * 3 * INCH // 2


def test_sizes_that_cannot_be_are_refused() -> None:
    with pytest.raises(InputError, match="there is no frame 'X1' to change the size of"):
        lay_out(write_job(wall=[PANEL]), shipped(), {"X1": (INCH, INCH)})
    with pytest.raises(InputError, match="the new size of N1 leaves nothing between its members"):
        lay_out(write_job(wall=[PANEL]), shipped(), {"N1": (3 * INCH, 60 * INCH)})
