"""Where pages end, against a plain search over every way to break."""

from itertools import combinations

from hypothesis import given
from hypothesis import strategies as st

from estimator.workbook.paging import Block, paged

HEIGHTS = st.lists(st.integers(20, 480), min_size=1, max_size=7)


def blocks(*points: float) -> list[Block]:
    return [Block(10 * n + 1, p) for n, p in enumerate(points)]


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
    assert (high.breaks, high.count) == ((11,), 4)


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
