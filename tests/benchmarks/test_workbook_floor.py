"""The writer stays within a small multiple of bare openpyxl, whatever the machine."""

from tests.benchmarks.workbook_floor import ratio
from tests.workbook.books import everything


def test_a_book_of_500_frames_costs_little_more_than_its_cells() -> None:
    ours, floor, cells = ratio(everything(count=500))
    assert cells > 8000
    assert ours < 4 * floor
