"""Elevations are to scale, show what the survey has, and mark fixings by what they hold in."""

import xml.etree.ElementTree as ET

import pytest

from estimator.core.units import format_length
from estimator.documents.canvas import PaperBox, fitted, readings
from estimator.documents.frame_drawings import board_joints, fill_of
from estimator.documents.room_drawings import Elevation, elevation, treated_walls
from estimator.job.description_pieces import Recess
from tests.documents.made import EXAMPLES, SVG, drawings, letters
from tests.examples import estimate_of

INCH = 25_400_000


def drawn(name: str, wall: str, *, detail: bool) -> ET.Element:
    made = estimate_of(name)
    scope = made.scope
    fill = fill_of(scope.plans, scope.layout.frames)
    what = Elevation(scope.job, scope.layout, fill, made.units.display, detail)
    return drawings(elevation(what, next(w for w in treated_walls(scope.layout) if w.name == wall)))[0]


def rectangles(drawing: ET.Element) -> list[tuple[float, ...]]:
    found = drawing.iter(f"{SVG}rect")
    return [tuple(float(r.get(k, "0")) for k in ("x", "y", "width", "height")) for r in found]


def test_a_frame_is_drawn_to_scale_where_it_stands() -> None:
    # Wall 10 ft x 8 ft; frame 60 x 84 in, 30 in from the left end, 6 1/2 in above the floor.
    wall, frame = rectangles(drawn("one_panel", "north", detail=False))[:2]
    scale = wall[2] / 120
    assert wall[3] == pytest.approx(96 * scale, abs=0.02)
    assert frame[2:] == pytest.approx((60 * scale, 84 * scale), abs=0.02)
    assert frame[0] - wall[0] == pytest.approx(30 * scale, abs=0.02)
    assert wall[1] + wall[3] - frame[1] - frame[3] == pytest.approx(6.5 * scale, abs=0.02)


@pytest.mark.parametrize("name", EXAMPLES)
def test_each_wall_names_its_openings_and_reads_its_frames_edges(name: str) -> None:
    made = estimate_of(name)
    layout, display = made.scope.layout, made.units.display
    filled = {r.opening for r in made.job.of(Recess)}
    for wall in treated_walls(layout):
        texts = {one.text for one in letters(drawn(name, wall.name, detail=True))}
        for opening in (o for o in layout.openings if o.wall == wall.name and o.name not in filled):
            assert opening.name in texts
        for frame in (f for f in layout.frames if f.placement.wall == wall.name):
            at = frame.placement
            for value in (at.x, at.x + frame.width, at.z, at.z + frame.height):
                assert format_length(value, display) in texts
        assert any("level line" in text for text in texts)


def test_fixings_are_drawn_by_what_they_hold_in() -> None:
    layout = estimate_of("chapel_annex").scope.layout
    in_studs = sum(len(f.fixings) for f in layout.frames if f.placement.wall == "north")
    dots = [
        c for c in drawn("chapel_annex", "north", detail=True).iter(f"{SVG}circle") if c.get("fill") == "#000"
    ]
    assert len(dots) == in_studs
    anchors = sum(len(f.fixings) for f in layout.frames if f.placement.wall == "east")
    squares = [
        p for p in drawn("chapel_annex", "east", detail=True).iter(f"{SVG}polygon") if p.get("fill") == "#000"
    ]
    assert len(squares) == anchors


def test_the_client_sees_no_fixings() -> None:
    assert not list(drawn("chapel_annex", "north", detail=False).iter(f"{SVG}circle"))


def test_board_joints_lie_inside_their_frame() -> None:
    scope = estimate_of("chapel_annex").scope
    fill = fill_of(scope.plans, scope.layout.frames)
    for frame in scope.layout.frames:
        for start, end in board_joints(frame, fill):
            assert start[0] == end[0] or start[1] == end[1]
            for x, y in (start, end):
                assert 0 < x < frame.width
                assert 0 < y < frame.height


def test_one_reading_for_each_value_that_a_tape_tells_apart() -> None:
    assert readings([INCH, 0, INCH + 1000], "imperial") == [(0, '0"'), (INCH, '1"')]


def test_a_view_fits_its_room_and_turns_heights_up() -> None:
    view = fitted(100 * INCH, 50 * INCH, PaperBox(10, 5, 100, 100))
    assert view.at(0, 0) == pytest.approx((10, 55))
    assert view.box(0, 0, 100 * INCH, 50 * INCH) == pytest.approx(PaperBox(10, 5, 100, 50))
