"""Columns and the page they fit: what gives way, when the paper is turned, when columns are cut apart."""

from collections.abc import Mapping

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.workbook.fitting import (
    ACROSS_POINTS,
    COMFORT,
    LEAST_SCALE,
    NAMES,
    UNIT_POINTS,
    UPRIGHT_POINTS,
    fitted,
)

WIDTHS = st.lists(st.tuples(st.floats(7, 32), st.floats(0, 150)), min_size=1, max_size=40)


def test_what_fits_upright_keeps_its_widths_in_full_print() -> None:
    found = fitted({2: 10.0, 3: 10.0}, {2: 30.0, 3: 20.0})
    assert (found.widths, found.across, found.scale, found.groups) == ({2: 30.0, 3: 20.0}, False, 1.0, (2,))


def test_long_text_wraps_before_print_gets_small() -> None:
    found = fitted({2: 10.0, 3: 10.0}, {2: 30.0, 3: 120.0})
    assert found.scale == pytest.approx(1.0, abs=0.02)
    assert found.widths[2] == 30.0
    assert 60 < found.widths[3] < UPRIGHT_POINTS / UNIT_POINTS - 29


def test_text_of_more_than_two_lines_takes_smaller_print_before_more_lines() -> None:
    found = fitted({2: 10.0, 3: 10.0}, {2: 30.0, 3: 160.0})
    assert LEAST_SCALE < found.scale < 1
    assert found.widths[3] >= 80


def test_many_columns_turn_the_paper_then_stand_in_groups_of_their_own() -> None:
    some, many = (dict.fromkeys(range(2, end), 12.0) for end in (13, 27))
    assert fitted(some, some).across
    assert fitted(many, many).groups == (2, 15)


def test_room_goes_to_the_texts_that_make_rows_high() -> None:
    least, wants = dict.fromkeys((2, 3, 4), 10.0), {2: 60.0, 3: 60.0, 4: 400.0}

    def rows(widths: Mapping[int, float]) -> float:
        return max(wants[c] / widths[c] for c in widths)

    alike, lowest = fitted(least, wants), fitted(least, wants, rows)
    assert alike.widths[2] == pytest.approx(alike.widths[4])
    assert lowest.widths[4] > 2 * lowest.widths[2]
    assert rows(lowest.widths) < rows(alike.widths)
    assert sum(lowest.widths.values()) == pytest.approx(sum(alike.widths.values()), abs=0.01)


def test_what_pages_side_by_side_have_left_goes_to_the_names() -> None:
    least = dict.fromkeys(range(2, 16), 12.0)
    found = fitted(least, least | {2: 40.0})
    assert (len(found.groups), found.widths[2]) == (2, 40.0)
    assert COMFORT < fitted(least, least | {2: 90.0}).widths[2] < 90.0


@given(WIDTHS)
def test_every_page_holds_its_columns_and_no_word_is_cut(drawn: list[tuple[float, float]]) -> None:
    least = {n: a for n, (a, _) in enumerate(drawn, start=2)}
    wants = {n: a + b for n, (a, b) in enumerate(drawn, start=2)}
    found = fitted(least, wants)
    assert LEAST_SCALE - 1e-9 <= found.scale <= 1
    assert all(found.widths[c] >= least[c] for c in least)
    room = (ACROSS_POINTS if found.across else UPRIGHT_POINTS) / UNIT_POINTS / found.scale
    ends = [*found.groups[1:], max(least) + 1]
    for first, end in zip(found.groups, ends, strict=True):
        names = 0.0 if first == NAMES else found.widths[NAMES]
        assert names + sum(found.widths[c] for c in range(first, end)) <= room + 1e-6
    if len(found.groups) > 1:
        assert sum(least.values()) > ACROSS_POINTS / UNIT_POINTS / LEAST_SCALE
