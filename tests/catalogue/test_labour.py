"""Labour files: what is read, and what is refused with its line."""

from pathlib import Path

import pytest

from estimator.catalogue.labour import SHIPPED, STANDING, load_labour
from estimator.core.errors import InputError

TEXT = SHIPPED.read_text()


def read(tmp_path: Path, text: str) -> None:
    path = tmp_path / "labour.toml"
    path.write_text(text)
    load_labour(path)


@pytest.mark.parametrize(("before", "after", "line_of", "what"), [
    ("low = 0.9\n", "low = 9\n", None, "minutes are out of order"),
    ("low = 0.9\n", "low = -1\n", "low = -1", "out of range"),
    ("low = 0.9\n", 'low = "0.9"\n', 'low = "0.9"', "no number"),
    ("likely = 1.4\n", "", None, "this key is missing"),
    ('label = "Stretch', 'colour = "red"\nlabel = "Stretch', 'colour = "red"', "no such key here"),
    ('after = ["pack"]', 'after = ["hang"]', None, "does not stand before it"),
    ('key = "wrap"\n', 'key = "pack"\n', None, "stands twice"),
    ('wage = "finisher"\n', 'wage = "boss"\n', None, "unknown wage 'boss'"),
    ('burden = "28 %"', "burden = 28", "burden = 28", "bare number"),
    ('billable = "85 %"', 'billable = "0 %"', 'billable = "0 %"', "out of range"),
    ('"Saturday", "Sunday"', '"Saturn"', "closed_weekdays", "Saturn"),
    ("wait_hours = 2\n", 'wait_hours = 2\nwait_from = "recoat_time"\n', None, "there are two waits"),
])  # fmt: skip
def test_what_cannot_be_used_is_refused(
    tmp_path: Path, before: str, after: str, line_of: str | None, what: str
) -> None:
    assert before in TEXT
    text = TEXT.replace(before, after, 1)
    with pytest.raises(InputError, match=what) as refused:
        read(tmp_path, text)
    if line_of:
        number = next(n for n, line in enumerate(text.splitlines(), start=1) if line.startswith(line_of))
        assert number in [p.line for p in refused.value.problems]


def test_numbers_are_the_decimals_written() -> None:
    assert str(load_labour().by_key["wrap"].low) == "0.9"


def test_every_rate_says_where_it_comes_from() -> None:
    book = load_labour()
    assert all(t.source.startswith("assumption") for t in book.tasks if t.driver != STANDING)
    assert all("invented" in w.source for w in book.wages)


def test_what_is_done_on_every_trip_is_driven_by_trips(tmp_path: Path) -> None:
    """Hours that do not grow with the trips would make a trip shorter the more there are: no plan settles."""
    with pytest.raises(InputError, match="is done on every trip and driven by job") as refused:
        read(tmp_path, TEXT.replace('driver = "journeys"', 'driver = "job"', 1))
    assert refused.value.problems[0].fix.startswith("Drive it by visits or journeys")
