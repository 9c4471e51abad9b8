"""Reverberation figures of the public standards for classrooms and speech rooms.

ANSI/ASA S12.60-2010 part 1: 0.6 s up to 10 000 ft3, 0.7 s up to 20 000 ft3 (read in public summaries).
DIN 18041:2016-03, A1 to A4 as quoted in BNB V 2020, 3.1.4 (read in a published copy), own arithmetic at
180 m3, lg 180 = 2.25527: A1 music 0.45 lg V + 0.07 = 1.0849 s, A2 speech and lecture 0.37 lg V - 0.14 =
0.69445 s, A3 teaching 0.32 lg V - 0.17 = 0.5517 s, A4 inclusive 0.26 lg V - 0.14 = 0.4464 s. The constant of
A2 is minus: with plus the time would be 0.97 s, as an open calculator has it. Its fig. 2 lets a time lie
between 0.65 and 1.45 of the target at 125 Hz, 0.8 and 1.2 from 250 Hz to 2 kHz, 0.65 and 1.2 at 4 kHz (from
memory). EBU Tech 3276 2nd ed., 2.3: 0.25 (V/100)^(1/3), 0.25 s at 100 m3 (read in an open library).
BB93:2015, table 6, special hearing needs: 0.4 s mean of 125 Hz to 4 kHz, 0.6 s in each (read in a summary).
"""

import pytest

from estimator.acoustics.targets import target_for
from estimator.catalogue.references import references

FT3 = 0.3048**3


@pytest.mark.parametrize(("cubic_feet", "seconds"), [(9999, 0.6), (10_050, 0.7), (19_990, 0.7)])
def test_ansi_core_learning_spaces(cubic_feet: float, seconds: float) -> None:
    target = target_for("classroom", cubic_feet * FT3, references())
    assert target is not None
    assert target.time_s == pytest.approx(seconds)
    assert target.high_s[2:5] == pytest.approx((seconds,) * 3)


def test_ansi_gives_no_figure_for_larger_rooms() -> None:
    assert target_for("classroom", 20_100 * FT3, references()) is None


GROUPS = {
    "music-rehearsal": 1.0849,
    "worship": 0.69445,
    "speech": 0.69445,
    "meeting": 0.5517,
    "teaching": 0.5517,
    "inclusive": 0.4464,
}


@pytest.mark.parametrize("use", GROUPS)
def test_din_18041_at_180_m3(use: str) -> None:
    target = target_for(use, 180, references())
    assert target is not None
    assert target.time_s == pytest.approx(GROUPS[use], abs=5e-5)
    low, high = (0.65, 0.8, 0.8, 0.8, 0.8, 0.65), (1.45, 1.2, 1.2, 1.2, 1.2, 1.2)
    assert target.low_s == pytest.approx([GROUPS[use] * part for part in low], abs=1e-4)
    assert target.high_s == pytest.approx([GROUPS[use] * part for part in high], abs=1e-4)


def test_ebu_listening_room_of_100_m3() -> None:
    target = target_for("control", 100, references())
    assert target is not None
    assert target.time_s == pytest.approx(0.25, abs=5e-4)


def test_bb93_for_special_hearing_needs() -> None:
    target = target_for("classroom-uk-hearing", 180, references())
    assert target is not None
    assert target.time_s == pytest.approx(0.4)
    assert target.high_s == (0.6,) * 6
    assert target.mean_hz == (125, 250, 500, 1000, 2000, 4000)
