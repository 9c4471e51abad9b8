"""Fixing screws: which bite, where, how far they reach, and what they hold."""

from dataclasses import replace
from typing import Any

import pytest

from estimator.catalogue.records import Catalogue
from estimator.core.units import INCH
from estimator.layout.assembly import lay_out
from estimator.layout.fixings import choose_screw, crossings, even, withdrawal_n
from estimator.layout.records import Fixing, Layout, Spread
from tests.layout.jobs import shipped, write_job

PANEL = {
    "name": "N", "on": "north", "make-up": "standard", "from": "30 in", "to": "91 in",
    "band": {"bottom": "20 in", "height": "61 in"},
}  # fmt: skip


def with_screws(*lengths_in: float) -> Catalogue:
    """Return the catalogue with fixing screws of these lengths only."""
    catalogue = shipped()
    like = catalogue.sizes("screw-fixing")[0]
    screws = tuple(replace(like, key=f"s{n}", length=round(n * INCH)) for n in lengths_in)
    others = tuple(i for i in catalogue.items if i.product != "screw-fixing")
    return Catalogue.of((*others, *screws), catalogue.practice, catalogue.terms, catalogue.labour)


def fixings_of(backing: dict[str, Any], catalogue: Catalogue) -> tuple[Layout, tuple[Fixing, ...]]:
    layout = lay_out(write_job(wall=[{**PANEL, "backing": backing}]), catalogue)
    return layout, layout.frames[0].fixings


def test_three_inches_through_two_layers_leave_a_quarter() -> None:
    """1 1/2 member + 2 x 5/8 gypsum = 2 3/4: a 3 in screw bites 1/4 in, and the program says so."""
    backing = {"layers": 2, "thickness": "5/8 in"}
    layout, found = fixings_of(backing, with_screws(3))
    assert {x.bite / INCH for x in found} == {0.25}
    assert any('bites only 1/4" in what is behind N' in p.what for p in layout.problems)


def test_the_shortest_screw_that_bites_an_inch() -> None:
    """One layer of 1/2: 1 1/2 + 1/2 + 1 = 3 in; two of 5/8: 1 1/2 + 1 1/4 + 1 = 3 3/4, so 4 in."""
    sizes = with_screws(2.5, 3, 3.5, 4)
    assert {x.screw for x in fixings_of({}, sizes)[1]} == {"s3"}
    assert {x.screw for x in fixings_of({"layers": 2, "thickness": "5/8 in"}, sizes)[1]} == {"s4"}


def test_a_point_past_an_inch_and_a_quarter_is_a_caution() -> None:
    """3 1/2 in through 1 1/2 + 1/2 passes the stud's face by 1 1/2; NEC 300.4(A): cables lie 1 1/4 back."""
    layout, found = fixings_of({}, with_screws(3.5))
    assert {x.past_face / INCH for x in found} == {1.5}
    cautions = [p for p in layout.problems if p.severity == "caution" and "cables" in p.what]
    assert [p.where for p in cautions] == ["N"]
    _, within = fixings_of({}, with_screws(3.25))
    assert {x.past_face / INCH for x in within} == {1.25}
    assert not [p for p in fixings_of({}, with_screws(3.25))[0].problems if "cables" in p.what]


def test_known_studs_are_met_where_they_are() -> None:
    """Studs at 16, 32, 48, 64, 80; frame from 30 1/2 to 90 1/2: at 1.5, 17.5, 33.5, 49.5 of it."""
    _, found = fixings_of({"first_stud": "16 in"}, shipped())
    assert sorted({x.x / INCH for x in found}) == [1.5, 17.5, 33.5, 49.5]
    assert {x.holds_in for x in found} == {"stud"}


def test_unknown_studs_are_counted_as_few_as_can_be() -> None:
    """60 in over studs 16 apart cross at least floor(60 / 16) = 3, wherever they are."""
    _, found = fixings_of({}, shipped())
    assert len(found) == 2 * 3


@pytest.mark.parametrize("first_in", range(16))
def test_no_place_of_the_studs_gives_fewer(first_in: int) -> None:
    length = 60 * INCH
    known = Spread(16 * INCH, first_in * INCH % (16 * INCH), 0, upward=False)
    assert len(crossings(length, known)) >= len(crossings(length, replace(known, first=None)))


def test_a_frame_narrower_than_the_studs_holds_in_gypsum_only() -> None:
    layout = lay_out(write_job(wall=[{**PANEL, "to": "43 in"}]), shipped())
    assert {x.holds_in for x in layout.frames[0].fixings} == {"board"}
    assert {x.bite for x in layout.frames[0].fixings} == {0}
    assert any(
        "N1: the screws hold in gypsum only" in p.what for p in layout.problems if p.severity == "caution"
    )


def test_level_studs_are_met_by_the_uprights() -> None:
    """Studs level, 16 apart, unknown: floor(60 / 16) = 3 on each of two stiles and two studs."""
    _, found = fixings_of({"direction": "horizontal"}, shipped())
    assert len(found) == 4 * 3


def test_masonry_takes_anchors() -> None:
    """Rails 60 in, 1 1/2 in from the ends, 16 apart at most: 57 / 16 -> 4 gaps, 5 places on each."""
    _, found = fixings_of({"kind": "masonry"}, shipped())
    assert {x.holds_in for x in found} == {"masonry"}
    assert len(found) == 2 * 5
    layout, _ = fixings_of({"kind": "masonry"}, shipped())
    rated = shipped().sizes("anchor-masonry")[0].rated_load_n or 0
    assert any(f"10 anchors are rated {10 * rated:.0f} N in withdrawal" in r for r in layout.reasons)


def test_even_places() -> None:
    assert [x / INCH for x in even(60 * INCH, 16 * INCH, 6 * INCH)] == [6, 22, 38, 54]


def test_no_screw_long_enough_gives_the_longest() -> None:
    screw = choose_screw(with_screws(2, 2.5).sizes("screw-fixing"), 2 * INCH, INCH)
    assert (screw.item.key, screw.bite / INCH) == ("s2.5", 0.5)


def test_the_safety_factor_is_shown_and_a_weak_frame_named() -> None:
    """6 screws No. 8 in G = 0.42 biting 1 in: 6 x 82.449 lb = 2 200 N against the frame's weight."""
    layout, found = fixings_of({}, with_screws(3))
    each = withdrawal_n(0.42, shipped().sizes("screw-fixing")[0].thickness or 0, INCH)
    assert len(found) * each == pytest.approx(6 * 366.75, rel=1e-3)
    assert any("6 stud screws hold 2201 N in withdrawal" in r for r in layout.reasons)
    weak, _ = fixings_of({}, with_screws(2.0625))
    assert any("resist less than 5 times the weight" in p.what for p in weak.problems)
