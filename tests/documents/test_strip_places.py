"""Every strip has its place on its frame, where a hand would draw it."""

import pytest

from estimator.documents.frame_drawings import strip_places
from tests.documents.made import EXAMPLES
from tests.examples import estimate_of

INCH = 25_400_000


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_strip_has_one_place(name: str) -> None:
    layout = estimate_of(name).scope.layout
    found = [p.strip.name for f in layout.frames for p in strip_places(f, layout.strips)]
    assert sorted(found) == sorted(s.name for s in layout.strips)


def test_casings_lie_outside_the_frame_and_run_past_its_corners() -> None:
    # Frame 60 x 84 in, casing 1/2 in thick; uprights 1/2 in beyond the frame and 1/4 in to scribe at each
    # end.
    layout = estimate_of("one_panel").scope.layout
    places = {p.strip.side: p for p in strip_places(layout.frames[0], layout.strips)}
    left, right, top = places["left"], places["right"], places["top"]
    assert (left.x, left.y, left.width, left.height) == (
        -INCH // 2,
        -INCH * 3 // 4,
        INCH // 2,
        INCH * 171 // 2,
    )
    assert right.x == 60 * INCH
    assert (top.x, top.y, top.width, top.height) == (0, 84 * INCH, 60 * INCH, INCH // 2)
    assert left.end(last=False) == (-INCH // 4, -INCH * 3 // 4)
    assert top.end(last=True) == (60 * INCH, 84 * INCH + INCH // 4)


def test_a_mitre_at_a_turn_and_an_end_to_scribe_lie_at_their_own_ends() -> None:
    # N7's bottom casing is square at its left end and runs 1 1/2 in x tan(22.5) past the frame at its right;
    # N1's left casing runs 1/2 in past the frame at both ends and 1/4 in more at its lower one.
    layout = estimate_of("chapel_annex").scope.layout
    places = {p.strip.name: p for f in layout.frames for p in strip_places(f, layout.strips)}
    assert abs(places["N7 bottom casing"].x) <= 1
    assert places["N1 left casing"].y == -INCH * 3 // 4
