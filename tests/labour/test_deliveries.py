"""Order dates against numpy's own business-day arithmetic."""

import datetime as dt
from decimal import Decimal

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from estimator.catalogue.labour import Calendar
from estimator.labour.schedule import late_orders, order_dates

HOLIDAYS = (dt.date(2026, 4, 3), dt.date(2026, 5, 18), dt.date(2026, 7, 1))
CALENDAR = Calendar(
    start_hour=Decimal(8), closed_weekdays=("Saturday", "Sunday"), closed_dates=HOLIDAYS, source="made up"
)
OPEN = np.busdaycalendar(holidays=np.array(HOLIDAYS, dtype="datetime64[D]"))


@given(st.dates(dt.date(2026, 3, 1), dt.date(2026, 8, 1)), st.integers(0, 40))
def test_an_order_goes_out_as_many_working_days_before(first: dt.date, days: int) -> None:
    first = np.busday_offset(first, 0, roll="forward", busdaycal=OPEN).astype(object)
    expected = np.busday_offset(first, -days, busdaycal=OPEN).astype(object)
    assert order_dates({"cloth": days}, CALENDAR, first) == {"cloth": expected}


def test_a_late_order_is_named_the_earliest_first() -> None:
    dates = {"a": dt.date(2026, 3, 5), "b": dt.date(2026, 3, 3), "c": dt.date(2026, 3, 4)}
    assert late_orders(dates, dt.date(2026, 3, 3)) == ()
    (one,) = late_orders(dates, dt.date(2026, 3, 5))
    assert one.severity == "warning"
    assert "b would have to be ordered by 2026-03-03" in one.what
    assert "as late: c" in one.what
