"""ISO 9613-1:1993, table 1: attenuation of pure tones by air at exact midbands, 101.325 kPa.

Three printed digits: 0.5 %. Read in a published copy of the table. m = attenuation / (10 lg e) as in
ISO 354; its three values at 20 degrees C, 50 % are own arithmetic.
"""

import pytest

from estimator.acoustics.room import air_absorption_db_per_m, exact_midband, octave_attenuation

TABLE = [
    (20, 50, 1000, 4.66),
    (20, 50, 2000, 9.86),
    (10, 70, 1000, 3.66),
    (25, 50, 1000, 5.68),
    (15, 50, 1000, 4.16),
]


@pytest.mark.parametrize(("celsius", "humidity", "hz", "db_per_km"), TABLE)
def test_table_1(celsius: float, humidity: float, hz: float, db_per_km: float) -> None:
    found = 1000 * air_absorption_db_per_m(exact_midband(hz), celsius, humidity)
    assert found == pytest.approx(db_per_km, rel=0.005)


def test_energy_attenuation_at_1_2_and_4_khz() -> None:
    assert octave_attenuation(20, 50)[3:] == pytest.approx((0.001074, 0.002269, 0.006774), rel=0.01)
