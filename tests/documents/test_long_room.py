"""A long room with a corner that stands out: strips in parts, level studs, a stacked trap, loudspeakers."""

from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

from estimator.documents.room_drawings import room_drawing
from estimator.pipeline import Estimate
from tests.documents.made import KINDS, ROOT, SVG, drawings, estimate_of_text, pages_of, text_of
from tests.documents.test_drawings import clashes

ROOM = """
[room]
name = "Long L"
use = "other"
height = "10 ft"
listening = { x = "8 ft", y = "9 ft", z = "4 ft" }
loudspeakers = [
    { name = "left monitor", x = "5 ft", y = "3 ft", z = "4 ft" },
    { name = "right monitor", x = "11 ft", y = "3 ft", z = "4 ft" },
]
[[room.wall]]
name = "a"
length = "44 ft"
[[room.wall]]
name = "b"
length = "12 ft"
[[room.wall]]
name = "c"
length = "20 ft"
turn = -90
[[room.wall]]
name = "d"
length = "10 ft"
[[room.wall]]
name = "e"
length = "24 ft"
[[room.wall]]
name = "f"
length = "22 ft"
[make-up.standard]
member = "member-2x2"
board = "board-48-1.5"
fabric = "fabric-check"
colour = "rust"
casing = "casing-half"
cover = "cover-strip"
finish = "paint-trim"
[[wall]]
name = "A"
from = "20 in"
on = "a"
make-up = "standard"
band = { bottom = "6 in", height = "100 in" }
sides = { bottom = "baseboard" }
backing = { studs = "16 in", direction = "horizontal", first_stud = "12 in" }
[[wall]]
name = "C"
on = "c"
make-up = "standard"
band = { bottom = "6 in", height = "100 in" }
sides = { bottom = "baseboard", right="angled" }
[[wall]]
name = "D"
on = "d"
make-up = "standard"
band = { bottom = "6 in", height = "100 in" }
sides = { bottom = "baseboard", left="angled" }
[[corner]]
name = "T"
between = ["f", "a"]
make-up = "standard"
kind = "solid"
leg = "16 in"
height = "30 in"
"""


@cache
def long_room() -> Estimate:
    head = (ROOT / "examples/one_panel/job.toml").read_text(encoding="utf-8").split("[room]")[0]
    with TemporaryDirectory() as folder:
        return estimate_of_text(head + ROOM, Path(folder))


@cache
def papers_of_it() -> dict[str, str]:
    return pages_of(long_room())


@pytest.mark.parametrize("kind", KINDS)
def test_no_text_stands_over_another(kind: str) -> None:
    for drawing in drawings(papers_of_it()[kind]):
        assert clashes(drawing) == []


def test_first_reflections_are_crossed_on_the_plan() -> None:
    made = long_room()
    strikes = [r for heard in made.scope.room.heard for r in heard.reflections if r.point is not None]
    assert strikes
    plan = drawings(room_drawing(made.scope, "imperial"))[0]
    lines = [e for e in plan.iter(f"{SVG}line") if e.get("stroke-width") == ".15"]
    assert len(lines) == 2 * len(strikes)


def test_a_strip_longer_than_any_stick_is_told_to_butt() -> None:
    assert "square, butts the next part" in text_of(papers_of_it()["shop"])


def test_a_stack_of_triangles_is_told_to_be_cut_from_corner_to_corner() -> None:
    assert "cut every one of its boards once from corner to corner" in text_of(papers_of_it()["shop"])


def test_level_studs_are_measured_from_the_floor() -> None:
    assert "first stud measured at 1'0\" above the floor, one every 1'4\"" in text_of(papers_of_it()["site"])
