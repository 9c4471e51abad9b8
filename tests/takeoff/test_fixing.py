"""Fixings that follow their frame's size: the same as the layout counts for a frame of that size."""

from decimal import Decimal as D

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.calc.expressions import Value
from estimator.core.units import INCH
from estimator.job.description import Job
from estimator.layout.assembly import lay_out
from tests.layout.jobs import shipped, write_job
from tests.takeoff.taken import PAINTED, Row, Taken, panel, take

BACKINGS: dict[str, Row] = {
    "first stud not known": {"studs": "16 in"},
    "first stud known": {"studs": "16 in", "first_stud": "9 in"},
    "level": {"direction": "horizontal", "studs": "12 in"},
    "level, first known": {"direction": "horizontal", "studs": "24 in", "first_stud": "30 in"},
    "masonry": {"kind": "masonry"},
}
KIND = {name: "anchor" if name == "masonry" else "screw" for name in BACKINGS}


def job(backing: Row, to: str = "73 in") -> Job:
    wall = {**panel(to=to, high="61 in"), "backing": {"kind": "gypsum", "layers": 1, **backing}}
    return write_job(wall=[wall], **{"make-up": {"standard": PAINTED}})


def points(one: Taken) -> list[Value]:
    return list(one.takeoff.tables["fixings"]["points"].values)


@pytest.mark.parametrize("name", BACKINGS)
def test_as_laid_out_the_formula_counts_what_the_layout_counts(name: str) -> None:
    one = take(job(BACKINGS[name]))
    assert points(one) == [D(len(f.fixings)) for f in one.layout.frames]


def test_a_frame_of_60_in_on_studs_16_in_apart_by_hand() -> None:
    """Rails of 60 in cross floor(60 / 16) = 3 studs wherever they are: through both, 6 screws.

    With a stud 9 in from the corner and the frame from 12 1/2 to 72 1/2 in, at 25, 41 and 57; 73 is past it.
    With one at 8 in, at 24, 40, 56 and 72: the last is 1/2 in from the end, and a screw needs 3/4 in.
    """
    assert points(take(job({"studs": "16 in"}))) == [6]
    assert points(take(job({"studs": "16 in", "first_stud": "9 in"}))) == [6]
    assert points(take(job({"studs": "16 in", "first_stud": "8 in"}))) == [6]
    assert points(take(job({"studs": "16 in", "first_stud": "7 in"}))) == [8]  # 23, 39, 55, 71


@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.sampled_from(sorted(BACKINGS)), st.integers(20 * 16, 60 * 16), st.integers(30 * 16, 70 * 16))
def test_resized_it_counts_what_the_layout_does_for_that_size(name: str, width: int, height: int) -> None:
    """In sixteenths of an inch, within one width of cloth: seams move studs, which no formula follows."""
    resized = {"frames.width.N1": D(width) / 16, "frames.height.N1": D(height) / 16}
    found = take(job(BACKINGS[name]), edits=resized)
    (frame,) = lay_out(
        job(BACKINGS[name]), shipped(), {"N1": (width * INCH // 16, height * INCH // 16)}
    ).frames
    assert points(found) == [D(len(frame.fixings))]
    assert found.lines()[f"{KIND[name]}:{frame.fixings[0].screw}"].net == len(frame.fixings)
