"""Someone who has only the shop's paper can cut every piece: each is there, with its length and its cuts."""

import re
from dataclasses import replace
from decimal import Decimal

import pytest

from estimator.core.units import format_length
from estimator.cutting.plans import Stick, StickPiece, StickPlan, StickStock
from estimator.documents.shop import shop
from estimator.documents.sticks import Saw, saws, stick_groups, strip_end
from estimator.layout.records import Edge, End
from tests.documents.made import EXAMPLES, pages, text_of
from tests.examples import estimate_of


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_stick_is_there_once_with_every_piece_in_order(name: str) -> None:
    made = estimate_of(name)
    for product in shop(made)["sticks"]:
        plan = made.scope.plans.sticks[product["product"]]
        found = {number: names for group, _ in product["groups"] for number, names in group.sticks}
        assert sorted(found) == list(range(1, len(plan.sticks) + 1))
        for number, stick in enumerate(plan.sticks, 1):
            assert found[number] == tuple(p.name for p in stick.pieces)


@pytest.mark.parametrize("name", EXAMPLES)
def test_sticks_taken_together_have_the_same_stops(name: str) -> None:
    made = estimate_of(name)
    settings = saws(made.scope.layout, made.catalogue, made.units.display)
    for product in shop(made)["sticks"]:
        plan = made.scope.plans.sticks[product["product"]]
        for group, _ in product["groups"]:
            for number, names in group.sticks:
                stick = plan.sticks[number - 1]
                for (_, length, saw), piece, called in zip(group.pieces, stick.pieces, names, strict=True):
                    assert length == format_length(piece.length, made.units.display)
                    own = settings[called]
                    assert (saw.start, saw.end, saw.along, saw.rip) == (
                        own.start,
                        own.end,
                        own.along,
                        own.rip,
                    )


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_piece_of_wood_board_and_cloth_has_a_label_and_is_named_on_the_page(name: str) -> None:
    made, page = estimate_of(name), pages(name)["shop"]
    plans = made.scope.plans
    wanted = [p.name for plan in plans.sticks.values() for s in plan.sticks for p in s.pieces]
    wanted += [t.name for plan in plans.boards.values() for t in plan.tiles]
    wanted += [p.name for plan in plans.rolls.values() for p in plan.placed]
    labels = re.findall(r"<div><strong>(.*?)</strong>", page)
    assert sorted(labels) == sorted(wanted)


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_strip_end_that_is_not_square_is_told(name: str) -> None:
    made, text = estimate_of(name), text_of(pages(name)["shop"])
    for strip in made.scope.layout.strips:
        for end in strip.ends:
            if end.cut == "mitre":
                assert f"mitre {end.angle_deg:.4g}° off square, long point" in text
            if end.cut == "scribe":
                assert f"{format_length(end.extra, made.units.display)} longer than its place" in text
        if strip.bevel_deg:
            assert f"bevel {strip.bevel_deg:.4g}° along" in text
        if strip.ripped:
            assert format_length(strip.width, made.units.display) in text


def test_a_mitre_at_a_turn_says_on_which_side_its_long_point_is() -> None:
    made = estimate_of("chapel_annex")
    strip = next(s for s in made.scope.layout.strips if s.name == "C1 bottom casing")
    frame = next(f for f in made.scope.layout.frames if f.name == "C1")
    assert strip_end(strip, frame, "imperial", last=True) == "mitre 22.5° off square, long point at the back"
    turned = tuple(replace(e, turn_deg=-45.0) if e.meets == "angled" else e for e in frame.edges)
    outside = replace(frame, edges=turned)
    assert strip_end(strip, outside, "imperial", last=False).endswith("long point at the front")
    square = replace(frame, edges=(Edge("right", frame.height, "wall", cased=True),))
    assert strip_end(strip, square, "imperial", last=True).endswith("away from the frame")
    scribed = replace(strip, ends=(End("scribe", extra=6_350_000), End("square")))
    assert strip_end(scribed, frame, "imperial", last=False).startswith('square, 1/4" longer than its place')


def test_sticks_with_other_cuts_are_not_taken_together() -> None:
    stock = StickStock("casing-8", 2_438_400_000, Decimal(1))
    pieces = [StickPiece("a", 1_000_000_000), StickPiece("b", 1_000_000_000), StickPiece("c", 1_000_000_000)]
    sticks = tuple(Stick(stock, (p,), 1_438_400_000) for p in pieces)
    plan = StickPlan(sticks, 0, 0, Decimal(1), Decimal(1), proven=True, patterns=1, method="")
    settings = {
        n: Saw(n, "square", end, "", "") for n, end in (("a", "square"), ("b", "mitre"), ("c", "square"))
    }
    groups = stick_groups(plan, settings, "imperial")
    assert [g.which for g in groups] == ["Sticks 1, 3", "Stick 2"]
    assert [g.sticks for g in groups] == [((1, ("a",)), (3, ("c",))), ((2, ("b",)),)]
    assert [g.plain for g in groups] == [True, False]


def test_groups_of_one_length_and_other_cuts_are_each_drawn() -> None:
    """Two pairs of sticks with the same lengths, one pair mitred: their lettered drawings look alike."""
    stock = StickStock("casing-8", 2_438_400_000, Decimal(1))
    sticks = tuple(Stick(stock, (StickPiece(n, 1_000_000_000),), 1_438_400_000) for n in "abcd")
    plan = StickPlan(sticks, 0, 0, Decimal(1), Decimal(1), proven=True, patterns=1, method="")
    cuts = {"a": "square", "b": "square", "c": "mitre", "d": "mitre"}
    settings = {n: Saw(n, "square", end, "", "") for n, end in cuts.items()}
    groups = stick_groups(plan, settings, "imperial")
    assert [g.which for g in groups] == ["Sticks 1 to 2", "Sticks 3 to 4"]
    assert all("<svg" in g.drawing for g in groups)


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_frame_lists_members_boards_cloth_and_cut_outs(name: str) -> None:
    made = estimate_of(name)
    tiles = [t for plan in made.scope.plans.boards.values() for t in plan.tiles]
    for row, frame in zip(shop(made)["frames"], made.scope.layout.frames, strict=True):
        assert len(row["members"]) == len(frame.members)
        holes = {c.name for c in frame.cavities}
        assert len(row["boards"]) == sum(t.hole in holes for t in tiles)
        assert len(row["cloths"]) == len(frame.faces)
        assert len(row["holes"]) == len(frame.cut_outs)


def test_a_box_is_cut_out_where_the_survey_has_it() -> None:
    made = estimate_of("chapel_annex")
    row = next(r for r in shop(made)["frames"] if r["holes"])
    # Outlet O1: left 9 ft 6 in, bottom 16 in, 3 x 4 1/2 in; 1/8 in of clearance; frame N4 starts 92 in along
    # the wall and 6 1/2 in up. By hand: 114 - 92 - 1/8 = 21 7/8 in; 16 - 6 1/2 - 1/8 = 9 3/8 in.
    assert row["name"] == "N4"
    assert row["holes"] == [
        {"name": "O1", "size": '3-1/4" × 4-3/4"', "left": "1'9-7/8\"", "bottom": '9-3/8"'}
    ]
