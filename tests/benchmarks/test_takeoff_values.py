from tests.benchmarks.page_part import part_of
from tests.benchmarks.takeoff_values import PAGE, rows, table


def test_the_page_shows_what_the_command_writes() -> None:
    assert part_of(PAGE, "values") == table(), "run: python -m tests.benchmarks.takeoff_values --write"


def test_no_value_is_off_by_more_than_its_print_allows() -> None:
    off = {row.what: row.ours() / row.printed - 1 for row in rows()}
    assert {what: f"{share:.4f}" for what, share in off.items() if abs(share) > 0.008} == {}
