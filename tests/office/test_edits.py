"""The edits file: kept beside the job, read again exactly, and held against the job as it is now."""

import datetime as dt
import tomllib
from decimal import Decimal as D
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.calc.expressions import Value
from estimator.core.errors import InputError
from estimator.office.edits import (
    ALL,
    Edit,
    edits_path,
    edits_text,
    load_edits,
    merged,
    save_edits,
    settled,
)

WASTE = Edit("terms.waste", D("0.1"), D("0.125"))
TEXTS = st.text(st.characters(codec="utf-8", exclude_characters="\r"), max_size=30)
VALUES = st.none() | TEXTS | st.dates() | st.decimals(allow_nan=False, allow_infinity=False, places=6)


def test_it_stands_beside_the_job() -> None:
    assert edits_path(Path("jobs/hall.toml")) == Path("jobs/hall.edits.toml")


def test_its_text_is_plain_and_in_order() -> None:
    new_row = Edit("prices.what.spare-1", None, 'Clips "L"')
    assert edits_text([WASTE, new_row], "14").splitlines()[2:] == [
        "schema = 1",
        'job_id = "14"',
        "",
        '[edits."terms.waste"]',
        "was = 0.1",
        "now = 0.125",
        "",
        '[edits."prices.what.spare-1"]',
        'now = "Clips \\"L\\""',
    ]


@given(st.dictionaries(TEXTS, st.tuples(VALUES, VALUES).filter(any), max_size=5))
def test_whatever_is_written_is_read_again(found: dict[str, tuple[Value, Value]]) -> None:
    edits = tuple(Edit(key, *values) for key, values in found.items())
    body = tomllib.loads(edits_text(edits, "14"), parse_float=D)
    read = {key: (e.get("was"), e.get("now")) for key, e in body.get("edits", {}).items()}
    assert read == found


def test_a_file_is_saved_and_loaded(tmp_path: Path) -> None:
    path = tmp_path / "job.edits.toml"
    assert load_edits(path, "14") == ()
    edits = (Edit("terms.start_day", dt.date(2026, 1, 2), None), WASTE, Edit("a.b.c", D(2), D(3)))
    save_edits(path, edits, "14")
    assert load_edits(path, "14") == edits
    assert [p.name for p in tmp_path.iterdir()] == ["job.edits.toml"]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("schema = 1\njob_id = '15'\n", "holds edits of job 15"),
        ("schema = 2\njob_id = '14'\n", "schema 2"),
        ("schema = ", "this is not TOML"),
        ("schema=1\njob_id='14'\n[edits.a]\nwhen=1\n[edits.b]\nnow=true\n", "a: is no edit"),
        ("schema=1\njob_id='14'\n[edits.b]\nnow=nan\n", "'nan' is no number"),
        ("schema=1\njob_id='14'\n[edits.b]\nnow=[1]\n", "is no value of a cell"),
        ("schema=1\njob_id='14'\n[edits.b]\nnow=2026-01-01T00:00:00\n", "is no value of a cell"),
    ],
)
def test_a_file_that_is_no_edits_file_is_refused(tmp_path: Path, text: str, said: str) -> None:
    (tmp_path / "job.edits.toml").write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match=said):
        load_edits(tmp_path / "job.edits.toml", "14")


def test_an_edit_holds_while_the_job_says_what_it_said() -> None:
    assert settled([WASTE], {"terms.waste": D("0.10")}) == ((WASTE,), ())


def test_an_edit_the_job_has_taken_over_is_done_with() -> None:
    assert settled([WASTE], {"terms.waste": D("0.125")}) == ((), ())


def test_a_conflict_is_shown_until_someone_decides() -> None:
    job: dict[str, Value] = {"terms.waste": D("0.2")}
    held, conflicts = settled([WASTE], job)
    assert held == ()
    assert str(conflicts[0]) == (
        "terms.waste: was 0.1; the office says 0.125, the job file now says 0.2. "
        "Decide with --keep terms.waste=office or --keep terms.waste=job; "
        "--keep office or --keep job decides all."
    )
    assert settled([WASTE], job, {ALL: "office"}) == ((Edit("terms.waste", D("0.2"), D("0.125")),), ())
    assert settled([WASTE], job, {ALL: "job"}) == ((), ())


def test_conflicts_are_decided_one_at_a_time() -> None:
    job: dict[str, Value] = {"terms.waste": D("0.2"), "terms.floor": D("0.3")}
    floor = Edit("terms.floor", D("0.1"), D("0.2"))
    held, conflicts = settled([WASTE, floor], job, {"terms.waste": "office"})
    assert (held, [p.where for p in conflicts]) == (
        (Edit("terms.waste", D("0.2"), D("0.125")),),
        ["terms.floor"],
    )
    assert settled([WASTE, floor], job, {"terms.waste": "job", ALL: "office"}) == (
        (Edit("terms.floor", D("0.3"), D("0.2")),),
        (),
    )


def test_a_row_that_is_gone_is_a_conflict_too() -> None:
    held, conflicts = settled([WASTE], {})
    assert held == ()
    assert "the job file no longer has it" in str(conflicts[0])
    assert settled([WASTE], {}, {ALL: "office"}) == ((), ())


def test_later_edits_stand_over_earlier_ones() -> None:
    again = Edit("terms.waste", D("0.125"), D("0.15"))
    back = Edit("terms.waste", D("0.15"), D("0.1"))
    assert merged([WASTE], [again]) == (Edit("terms.waste", D("0.1"), D("0.15")),)
    assert merged([WASTE, Edit("a.b", D(1), D(2))], [again, back]) == (Edit("a.b", D(1), D(2)),)
