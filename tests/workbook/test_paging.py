"""Where pages end, against a plain search over every way to break."""

from itertools import combinations

from hypothesis import given
from hypothesis import strategies as st

from estimator.workbook.pages import PageBlock, paged

LONG = 480
HEIGHTS = st.lists(st.integers(20, 480), min_size=1, max_size=7)


def blocks(*points: float) -> list[PageBlock]:
    """Return blocks of these heights, those longer than any page in rows of 10 points."""
    return [
        PageBlock(10 * n + 1, (p,) if p <= LONG else (10.0,) * round(p / 10)) for n, p in enumerate(points)
    ]


def test_a_table_that_fits_a_page_is_not_cut() -> None:
    found = paged(blocks(300, 300), 500.0, 30.0, (0.8, 0.8))
    assert paged(blocks(300, 300), 400.0, 30.0, (0.8, 0.8)).breaks == (11,)
    assert (found.breaks, found.count, found.long) == ((), 1, False)


def test_print_gets_smaller_only_where_that_saves_a_page() -> None:
    assert paged(blocks(300, 300), 500.0, 30.0, (1.0, 0.8)).scale < 0.84
    kept = paged(blocks(450, 450), 500.0, 30.0, (1.0, 0.8))
    assert (kept.scale, kept.count, kept.breaks) == (1.0, 2, (11,))


def test_a_table_longer_than_a_page_follows_on_where_there_is_room() -> None:
    short = paged(blocks(100, 1000), 500.0, 20.0, (1.0, 1.0))
    assert (short.breaks, short.count, short.long) == ((), 3, True)
    high = paged(blocks(400, 1000), 500.0, 20.0, (1.0, 1.0))
    assert (high.breaks[0], high.count) == (11, 4)


def test_print_gets_smaller_where_that_keeps_a_table_whole() -> None:
    found = paged(blocks(550, 300), 500.0, 30.0, (1.0, 0.8))
    assert (found.breaks, found.count, found.cut) == ((11,), 2, 0)
    assert 0.88 < found.scale <= 500 / 550


@given(HEIGHTS)
def test_no_way_to_break_between_tables_takes_fewer_pages(heights: list[int]) -> None:
    found = paged(blocks(*heights), 500.0, 20.0, (1.0, 1.0))
    places = range(1, len(heights))
    least = min(
        len(cut) + 1
        for count in range(len(heights))
        for cut in combinations(places, count)
        if all(
            sum(heights[a:b]) + (20.0 if a else 0.0) <= 500.0
            for a, b in zip((0, *cut), (*cut, len(heights)), strict=True)
        )
    )
    assert found.count == least == len(found.breaks) + 1


def rows(count: int) -> PageBlock:
    return PageBlock(1, (20.0,) * count)


def test_a_table_that_runs_on_keeps_some_rows_for_its_last_page() -> None:
    """Pages of 25 rows: of 27 rows the last page takes eight, of 40 it has enough as they fall."""
    assert paged([rows(27)], 500.0, 0.0, (1.0, 1.0)).breaks == (20,)
    assert paged([rows(40)], 500.0, 0.0, (1.0, 1.0)).breaks == ()
    three = paged([rows(52)], 500.0, 0.0, (1.0, 1.0))
    assert (three.breaks, three.count) == ((26, 45), 3)


def test_a_row_is_never_counted_to_two_pages() -> None:
    """Three rows of 200 points take a page each where 390 are to be had: none holds two."""
    assert paged([PageBlock(1, (200.0,) * 3)], 390.0, 0.0, (1.0, 1.0)).count == 3


def test_empty_rows_without_room_under_a_table_head_the_next_page() -> None:
    first, second = PageBlock(1, (490.0,), gap=28.0), PageBlock(4, (300.0,))
    assert paged([first, second], 500.0, 0.0, (1.0, 1.0)).breaks == (2,)
    assert paged([PageBlock(1, (460.0,), gap=28.0), second], 500.0, 0.0, (1.0, 1.0)).breaks == (4,)


@given(st.lists(st.floats(10, 60), min_size=1, max_size=200), st.floats(150, 800), st.floats(0, 60))
def test_pages_are_those_filled_row_by_row(heights: list[float], room: float, again: float) -> None:
    found = paged([PageBlock(1, tuple(heights))], room, again, (1.0, 1.0))
    count, used = 1, 0.0
    for own in heights:
        if used + own > room:
            count, used = count + 1, again
        used += own
    assert found.count == count
    for start in found.breaks:
        assert 1 < start <= len(heights)
