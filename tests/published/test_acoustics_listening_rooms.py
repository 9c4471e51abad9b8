"""EBU Tech 3276 2nd ed. (1998) and ITU-R BS.1116-3: reverberation and early reflections of listening rooms.

All from memory: nominal 0.25 (V/100)^(1/3) s; mask +-0.05 s from 200 Hz to 4 kHz, widening to +0.30 s at
63 Hz, straight over lg f; reflections of the first 15 ms at -10 dB or lower, 1-8 kHz.
"""

import pytest

from estimator.acoustics.reflections import EARLY_DB, EARLY_MS
from estimator.acoustics.targets import mask_limits, target_for
from estimator.catalogue.references import references


@pytest.mark.parametrize(("volume_m3", "seconds"), [(100, 0.25), (50, 0.198425131)])
def test_nominal_time(volume_m3: float, seconds: float) -> None:
    target = target_for("control", volume_m3, references())
    assert target is not None
    assert target.time_s == pytest.approx(seconds, abs=1e-9)


@pytest.mark.parametrize("hz", [200, 250, 1000, 4000])
def test_mask_is_five_hundredths_either_way(hz: float) -> None:
    assert mask_limits(references().masks["bs1116"], 0.25, hz) == pytest.approx((0.20, 0.30))


def test_mask_widens_upwards_to_63_hz() -> None:
    assert mask_limits(references().masks["bs1116"], 0.25, 63)[1] == pytest.approx(0.55)
    middle = mask_limits(references().masks["bs1116"], 0.25, (63 * 200) ** 0.5)[1]
    assert middle == pytest.approx(0.25 + (0.30 + 0.05) / 2), "straight over lg f"


def test_early_reflections() -> None:
    assert (EARLY_MS, EARLY_DB) == (15.0, -10.0)
