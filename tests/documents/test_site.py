"""Someone who has only the site's paper can mark out and fix every frame."""

import re

import pytest

from estimator.core.units import Nm, format_length, parse_length
from estimator.documents.frame_drawings import HOLDS
from estimator.documents.site import site
from tests.documents.made import EXAMPLES, pages, text_of
from tests.examples import estimate_of

SIXTEENTH: Nm = 25_400_000 // 16


@pytest.mark.parametrize("name", EXAMPLES)
def test_each_frame_can_be_marked_from_the_tables_alone(name: str) -> None:
    made = estimate_of(name)
    display = made.units.display
    frames = {f.name: f for f in made.scope.layout.frames}
    seen = set()
    for wall in site(made)["walls"]:
        line = parse_length(wall["line"])
        for mark in wall["marks"]:
            frame = frames[mark["frame"]]
            seen.add(frame.name)
            assert abs(parse_length(mark["left"]) - frame.placement.x) <= SIXTEENTH // 2
            assert abs(parse_length(mark["right"]) - frame.placement.x - frame.width) <= SIXTEENTH // 2
            text, way = mark["from_line"].rsplit(" ", 1)
            off = parse_length(text) * (1 if way == "above" else -1)
            assert abs(line + off - frame.placement.z) <= SIXTEENTH
            assert mark["bottom"] == format_length(frame.placement.z, display)
    assert seen == {f.name for f in frames.values() if f.placement.wall}


@pytest.mark.parametrize("name", EXAMPLES)
def test_each_fixing_has_its_place_in_the_schedule(name: str) -> None:
    made = estimate_of(name)
    found = site(made)
    rows = [r for wall in found["walls"] for r in wall["fixings"]]
    rows += [r for piece in found["pieces"] for r in piece["fixings"] if piece["kind"] != "recess box"]
    for frame in made.scope.layout.frames:
        own = [r for r in rows if r["frame"] == frame.name]
        assert sum(r["count"] for r in own) == len(frame.fixings)
        for row in own:
            told = 0
            for place in row["places"]:
                heights, xs = place.split(": at ")
                told += len(heights.split("; ")) * len(xs.split(", "))
            assert told == row["count"], (frame.name, row)


def test_a_screw_of_a_known_stud_is_at_the_stud() -> None:
    # Studs every 16 in from 16 in on: behind a frame from 30 in to 90 in along the wall they stand at
    # 32, 48, 64 and 80 in.
    text = text_of(pages("one_panel")["site"])
    assert "at 2'8\", 4'0\", 5'4\", 6'8\"" in text


def test_a_screw_of_an_unknown_stud_is_told_to_be_moved_to_it() -> None:
    text = text_of(pages("chapel_annex")["site"])
    assert "the first stud was not measured" in text
    assert "Find the studs, mark them, and move each screw to its stud" in text


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_strip_is_listed_with_its_length(name: str) -> None:
    made, found = estimate_of(name), site(estimate_of(name))
    rows = [r for place in (*found["walls"], *found["pieces"]) for r in place["casings"]]
    lengths = {r["name"]: r["length"] for r in rows}
    assert lengths == {s.name: format_length(s.length, made.units.display) for s in made.scope.layout.strips}


def test_every_mark_has_its_meaning() -> None:
    text = text_of(pages("chapel_annex")["site"])
    for sign, words in HOLDS.values():
        assert f"{sign} {words}" in text


def test_the_day_plan_tells_drying_waits() -> None:
    text = text_of(pages("rehearsal_room")["site"])
    assert re.search(r"Paint casing and cover strips in the shop, coat 1 of 2 \| shop \| 1 \| 4 h", text)
    assert "Fill nail holes and sand (day 4); then wait 0.5 h" in text
    assert "Strips come painted from the shop" in text
    assert not re.search(r"Run and tool sealant \(day 4\); then wait", text)  # nobody paints over it


def test_a_cloud_can_be_hung_from_its_measures() -> None:
    # K: 4 x 8 ft, centre 8 ft along the north wall and 8 ft out from it; drop 8 in, 1 1/2 in deep; the room
    # is 9 ft 6 in high.
    text = text_of(pages("chapel_annex")["site"])
    assert "left side 6'0\" along that wall, near side 4'0\" out from it" in text
    assert 'Its top is 8" below the ceiling, its underside 8\'8-1/2" above the floor' in text


def test_a_corner_trap_is_marked_by_its_legs() -> None:
    text = text_of(pages("chapel_annex")["site"])
    assert "In the corner of the west and north walls: mark 1'4\" from the corner on each." in text


def test_a_strip_beside_a_window_is_told_what_it_covers() -> None:
    # N1 stands 6 1/2 in above the floor. N2 beside it is 19 1/2 in high: its right casing begins at 26 in,
    # 22 in below the line at 48 in, and is 62 in long: to 40 in above it. N2 runs from 44 to 92 in.
    rows = {r["name"]: r for wall in site(estimate_of("chapel_annex"))["walls"] for r in wall["casings"]}
    assert rows["N1 right casing"]["place"] == "1'10\" below to 3'4\" above"
    assert rows["N2 bottom casing"]["place"] == "3'8\" to 7'8\""


@pytest.mark.parametrize("name", ["voice_booth", "rehearsal_room", "chapel_annex"])
def test_the_covers_that_are_bought_for_openings_are_packed(name: str) -> None:
    made = estimate_of(name)
    packed = {row["what"]: row["net"] for row in site(made)["take"]}
    covers = [count for what, count in packed.items() if what.startswith("Hardware cover")]
    assert covers == ([n] if (n := len(made.scope.layout.worked_round)) else [])
