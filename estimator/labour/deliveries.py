"""The last day on which each thing must be ordered, so that it is there on the first day of work."""

import datetime as dt
from collections.abc import Mapping

from estimator.catalogue.labour import Calendar
from estimator.core.errors import Problem
from estimator.labour.schedule import order_by


def order_dates(lead_days: Mapping[str, int], calendar: Calendar, first: dt.date) -> dict[str, dt.date]:
    """Return the last date to order each item on.

    Args:
        lead_days: working days from order to delivery, by item.
        calendar: the shop's closed days.
        first: first day of work.
    """
    return {item: order_by(calendar, first, days) for item, days in lead_days.items()}


def late_orders(dates: Mapping[str, dt.date], day: dt.date) -> tuple[Problem, ...]:
    """Return a warning where something would have to be ordered before `day`, () where nothing would."""
    late = sorted((date, item) for item, date in dates.items() if date < day)
    if not late:
        return ()
    date, item = late[0]
    what = f"{item} would have to be ordered by {date.isoformat()}, before the estimate"
    more = f"; as late: {', '.join(name for _, name in late[1:])}" if len(late) > 1 else ""
    fix = "Start later, or ask the supplier for a date."
    return (Problem("job.start", what + more, fix, severity="warning"),)
