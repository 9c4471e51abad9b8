"""Text is measured before it is placed; places are found without overlap."""

import itertools

from hypothesis import given
from hypothesis import strategies as st

from estimator.documents.canvas import WIDEST_EM, Canvas, PaperBox, spread, text_width

# Source: advance widths of DejaVu Sans 2.37, table hmtx, units of 2048 an em.
HMTX = {
    "0": 1303,
    "W": 2025,
    "m": 1995,
    "i": 569,
    " ": 651,
    "-": 739,
    '"': 942,
    "×": 1716,
    "N": 1532,
    "/": 690,
}


def test_widths_are_those_of_the_face_rounded_up() -> None:
    for letter, units in HMTX.items():
        width = text_width(letter, 1.0)
        assert units / 2048 <= width <= units / 2048 + 0.011, letter


def test_an_unknown_letter_takes_the_widest_width() -> None:
    assert text_width("語", 2.0) == 2 * WIDEST_EM


def test_places_far_enough_apart_stay_where_they_are() -> None:
    assert spread([1.0, 5.0, 9.0], 2.0, 0.0, 10.0) == [1.0, 5.0, 9.0]


def test_places_too_near_part_evenly_about_their_middle() -> None:
    assert spread([5.0, 5.0], 2.0, 0.0, 10.0) == [4.0, 6.0]
    assert spread([0.0, 0.0, 0.0], 1.0, 0.0, 10.0) == [0.0, 1.0, 2.0]


@given(st.lists(st.floats(0, 100), max_size=20), st.floats(0.1, 4))
def test_spread_places_keep_their_order_distance_and_bounds(wanted: list[float], gap: float) -> None:
    found = spread(sorted(wanted), gap, 0, 100)
    assert all(b - a >= gap - 1e-6 for a, b in itertools.pairwise(found))
    assert all(-1e-6 <= place <= 100 + 1e-6 for place in found)


_words = st.text("NW1234 mi×", min_size=1, max_size=12)
_place = st.tuples(st.floats(0, 80), st.floats(0, 60))


@given(st.lists(st.tuples(_words, st.lists(_place, min_size=1, max_size=4)), max_size=25))
def test_labels_placed_anywhere_never_overlap_or_leave_the_paper(
    wanted: list[tuple[str, list[tuple[float, float]]]],
) -> None:
    canvas = Canvas(80, 60)
    for text, places in wanted:
        canvas.label([[text, text], [text]], places)
    for at, box in enumerate(canvas.texts):
        assert box.within(canvas.paper)
        assert not any(box.overlaps(other) for other in canvas.texts[:at])


def test_a_label_that_fits_nowhere_is_not_written() -> None:
    canvas = Canvas(20, 20)
    assert canvas.label([["N1"]], [(10, 10)])
    assert not canvas.label([["N2"]], [(10, 10)])
    assert "N2" not in canvas.svg("two labels")


def test_a_label_keeps_off_marks_where_it_can() -> None:
    canvas = Canvas(40, 40)
    canvas.marks.append(PaperBox(15, 15, 10, 10))
    assert canvas.label([["N1"]], [(20, 20), (20, 35)])
    assert canvas.texts[0].middle == (20, 35)
