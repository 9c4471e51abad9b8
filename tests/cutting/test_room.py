"""The common pool of a room: every piece of every wall, as the saw is set, each plan verified or refused."""

from collections import Counter
from dataclasses import replace

import pytest

from estimator.core.errors import InputError, OutputError, Problem
from estimator.core.units import INCH, MM
from estimator.cutting import room
from estimator.cutting.rolls.plan import plan_roll
from estimator.cutting.room import board_pieces, cloth_piece, cut_room, on_the_tape, strip_pieces
from estimator.layout.assembly import lay_out
from estimator.layout.records import Face, Layout
from tests.layout.jobs import shipped
from tests.takeoff.taken import panel, walls


def laid_out() -> Layout:
    return lay_out(walls(panel(to="73 in"), panel("E", "east", to="60 in")), shipped())


def test_one_pool_for_all_walls() -> None:
    layout = laid_out()
    plans = cut_room(layout, shipped())
    cut = Counter(p.name for s in plans.sticks["member-2x2"].sticks for p in s.pieces)
    assert cut == Counter(m.name for f in layout.frames for m in f.members)
    faces = {p.name.split(".")[0] for p in plans.rolls["fabric-plain", ""].placed}
    assert set(faces) == {face.name for f in layout.frames for face in f.faces}


def test_board_pieces_are_counted_by_frame() -> None:
    layout = laid_out()
    plans = cut_room(layout, shipped())
    counts = board_pieces(plans, layout.frames)
    assert sum(counts.values()) == len(plans.boards["board-48-1.5"].tiles)
    assert all(counts[f.name] >= len(f.cavities) for f in layout.frames)


@pytest.mark.parametrize(
    ("length", "stock", "set_to"),
    [
        (60 * INCH, 96 * INCH, 60 * INCH),
        (60 * INCH + 1, 96 * INCH, 60 * INCH + INCH // 64),  # up to the next 1/64 in
        (1473 * MM + 1, 2400 * MM, 1473 * MM + MM // 2),  # up to the next half millimetre
        (1473 * MM, 2400 * MM, 1473 * MM),
    ],
)
def test_a_length_goes_up_to_what_a_tape_shows(length: int, stock: int, set_to: int) -> None:
    assert on_the_tape(length, stock) == set_to


def test_a_strip_longer_than_any_stick_is_cut_in_equal_parts_that_lose_nothing() -> None:
    strip = laid_out().strips[0]
    whole = strip_pieces(strip, shipped())
    assert [(p.name, p.length) for p in whole] == [(strip.name, strip.length)]
    # Sticks of casing are 12 ft at most: 25 ft and a nanometre needs three parts.
    long = replace(strip, length=300 * INCH + 1)
    parts = strip_pieces(long, shipped())
    assert len(parts) == 3
    assert sum(p.length for p in parts) == long.length
    assert max(p.length for p in parts) - min(p.length for p in parts) <= 1


def test_a_splice_shorter_than_the_shop_allows_is_refused() -> None:
    strip = replace(laid_out().strips[0], length=300 * INCH)  # three parts of 100 in
    values = dict(shipped().practice.values)
    for least, refused in ((100 * INCH, False), (101 * INCH, True)):
        values["casing_min_splice"] = replace(values["casing_min_splice"], value=least)
        own = replace(shipped(), practice=replace(shipped().practice, values=values))
        if refused:
            with pytest.raises(InputError, match="splices none under"):
                strip_pieces(strip, own)
        else:
            assert len(strip_pieces(strip, own)) == 3


def test_cloth_is_wrapped_on_every_side_and_seams_move_with_it() -> None:
    face = Face("f", 60 * INCH, 84 * INCH, "fabric-plain", "", 3 * INCH, (30 * INCH,), turn_allowed=True)
    piece = cloth_piece(face, INCH // 2)
    assert (piece.width, piece.length, piece.seam_at) == (66 * INCH, 90 * INCH, (33 * INCH,))
    assert piece.seam_allowance == INCH // 2


def test_a_plan_that_does_not_verify_is_never_returned(monkeypatch: pytest.MonkeyPatch) -> None:
    layout = laid_out()
    room._stick_plan.cache_clear()
    fault = Problem("plan", "a piece is missing", "Report it.")
    monkeypatch.setattr(room, "verify_sticks", lambda *_: (fault,))
    with pytest.raises(OutputError, match="a piece is missing"):
        cut_room(layout, shipped())
    room._stick_plan.cache_clear()


def test_the_search_for_cloth_ends_where_a_shorter_plan_would_buy_no_less() -> None:
    # Cloth is bought by 9 in: the room's plan takes as many steps as the shortest that is found without that.
    layout = laid_out()
    step = shipped().practice.length("fabric_step")
    pieces = [cloth_piece(f, 0) for frame in layout.frames for f in frame.faces]
    room_plan = cut_room(layout, shipped()).rolls["fabric-plain", ""]
    free = plan_roll(pieces, 66 * INCH)
    assert -(-room_plan.length // step) == -(-free.length // step)
    assert free.length <= room_plan.length
    assert room_plan.bound == free.bound
