"""What two job files say differently; the expected answers are the edits made to the text."""

from pathlib import Path

import pytest

from estimator.job.description import Job, job_file
from estimator.job.differences import Difference, job_differences
from estimator.job.document import parse_document, validated

CHAPEL = (Path(__file__).parents[2] / "examples" / "chapel_annex" / "job.toml").read_text(encoding="utf-8")


def read(text: str) -> Job:
    return validated(job_file(), parse_document(text, "job.toml"))


def found(*changes: tuple[str, str]) -> list[Difference]:
    text = CHAPEL
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    return list(job_differences(read(CHAPEL), read(text)))


@pytest.mark.parametrize(
    ("old", "new", "difference"),
    [
        ("date = 2026-03-16", "date = 2026-03-18", Difference("job.date", "2026-03-16", "2026-03-18")),
        ('height = "90 in"', 'height = "7 ft"', Difference("wall[N].band.height", "7'6\"", "7'0\"")),
        ("visits = 4", "", Difference("job.visits", "4", "")),
        ('drop = ["S"]', 'drop = ["S", "K"]', Difference("option[plain].drop", "S", "S, K")),
        ('amount = "120.00"', 'amount = "95.50"',
         Difference("allowance[One box extension by a licensed electrician].amount", "120.00", "95.50")),
        ('gap = "1/2 in"', 'gap = "12.71 mm"', Difference("make-up[deep].gap", '1/2"', "12.71 mm")),
    ],
)  # fmt: skip
def test_one_edit_is_one_difference(old: str, new: str, difference: Difference) -> None:
    assert found((old, new)) == [difference]


def test_the_same_length_in_other_words_is_no_difference() -> None:
    assert found(('bottom = "30 in"', 'bottom = "2 ft 6 in"'), ('gap = "1/2 in"', 'gap = "12.7 mm"')) == []


def test_a_piece_renamed_is_one_gone_and_one_new() -> None:
    gone, new = found(('name = "K"', 'name = "M"'))
    assert (gone.where, gone.now, new.where, new.was) == ("cloud[K]", "", "cloud[M]", "")
    assert gone.was == new.now != ""


def test_the_order_of_tables_is_no_difference() -> None:
    head, _, tail = CHAPEL.partition('[[cloud]]\nname = "K"')
    first, _, rest = tail.partition('[[cloud]]\nname = "L"')
    second, _, end = rest.partition("[[colour]]")
    swapped = f'{head}[[cloud]]\nname = "L"{second}[[cloud]]\nname = "K"{first}[[colour]]{end}'
    assert swapped != CHAPEL
    assert job_differences(read(CHAPEL), read(swapped)) == ()
