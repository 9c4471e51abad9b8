"""The shipped practice lies where the trade's does.

Source: common practice, no source (from memory), but for the spread rate of paint: a data sheet of a general
interior paint gives 350 to 400 ft2/gal on smooth primed trim (read in a published excerpt).
"""

from decimal import Decimal as D

import pytest

from estimator.catalogue.practice import read_practice
from estimator.catalogue.records import Practice
from estimator.core.units import INCH, converted
from estimator.job.document import read_document
from tests.layout.jobs import DATA, shipped
from tests.takeoff.taken import panel, practising, take, walls


def practice() -> Practice:
    read, _warnings = read_practice(read_document(DATA / "practice" / "default.toml"))
    return read


@pytest.mark.parametrize(
    ("key", "low", "high"),
    [
        ("staple_spacing", 1, 2),  # fabric to frame, closer at corners
        ("nail_spacing", 12, 16),  # brads in trim
        ("backing_stud_spacing", 16, 24),  # frames are screwed to every stud
    ],
)
def test_spacing(key: str, low: int, high: int) -> None:
    assert low * INCH <= practice().length(key) <= high * INCH


def test_more_staples_at_corners() -> None:
    assert practice().number("staples_per_corner") > 0


def test_spread_rate_of_paint() -> None:
    rate = converted(D(str(practice().number("spread_rate"))), "m^2/L", "ft^2/gal")
    assert 350 - D("0.001") <= rate <= 400


def test_192_staples_round_24_feet_at_an_inch_and_a_half() -> None:
    # Own arithmetic: ceil(perimeter / spacing), a closed loop with no one more: 288 / 1.5.
    taken = take(walls(panel(to="73 in")), practising(shipped(), staples_per_corner=0, wrap_pull=INCH))
    assert taken.work("frame_work", "wrapped_edge") == 24
    assert taken.work("frame_work", "staples") == 192


def test_a_roll_of_masking_tape_is_60_yards() -> None:
    assert {i.content_as("yd") for i in shipped().sizes("tape-masking")} == {D(60)}
