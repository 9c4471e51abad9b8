"""What practice cells may hold reads well and never goes past what the shop's file allows."""

from decimal import Decimal
from pathlib import Path

import pytest

from estimator.catalogue.load import load
from estimator.core.units import INCH, MM, measures
from estimator.takeoff.inputs import practice_form

EXAMPLES = Path(__file__).parents[2] / "examples"
EXACT = Decimal("1e-9")


@pytest.mark.parametrize("name", ["voice_booth", "rehearsal_room"])
def test_limits_have_three_figures_and_stay_inside_the_shops(name: str) -> None:
    job, catalogue, _ = load(EXAMPLES / name / "job.toml")
    header, values = job.header, catalogue.practice.values
    form = practice_form(catalogue, measures(header.display, header.currency), {})
    small = INCH if header.display == "imperial" else MM
    fields = [f for f in form.fields if f.kind == "input" and isinstance(f.low, Decimal)]
    assert len(fields) > 50
    for field in fields:
        own, low, high = values[field.key], field.low, field.high
        assert isinstance(low, Decimal)
        assert isinstance(high, Decimal)
        assert low <= field.values[0] <= high  # type: ignore[operator]
        assert all(len(limit.normalize().as_tuple().digits) <= 3 for limit in (low, high))
        if own.dimension == "length":
            assert int(own.low) - EXACT <= low * small
            assert high * small <= int(own.high) + EXACT
