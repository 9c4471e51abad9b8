"""Reverberation figures of the public standards for classrooms and speech rooms.

ANSI/ASA S12.60-2010 part 1: 0.6 s up to 10 000 ft3, 0.7 s up to 20 000 ft3 (read in public summaries).
DIN 18041:2016-03, A1 to A4 as quoted in BNB V 2020, 3.1.4 (read in a published copy), own arithmetic at
180 m3, lg 180 = 2.25527: music 0.45 lg V + 0.07 = 1.0849 s, teaching 0.32 lg V - 0.17 = 0.5517 s.
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


@pytest.mark.parametrize(("use", "seconds"), [("teaching", 0.5517), ("music-rehearsal", 1.0849)])
def test_din_18041_at_180_m3(use: str, seconds: float) -> None:
    target = target_for(use, 180, references())
    assert target is not None
    assert target.time_s == pytest.approx(seconds, abs=5e-5)


def test_bb93_for_special_hearing_needs() -> None:
    target = target_for("classroom-uk-hearing", 180, references())
    assert target is not None
    assert target.time_s == pytest.approx(0.4)
    assert target.high_s == (0.6,) * 6
    assert target.mean_hz == (125, 250, 500, 1000, 2000, 4000)
