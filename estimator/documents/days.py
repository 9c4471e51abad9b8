"""The days of a job and the steps of its finishing, with the waits between them."""

from decimal import Decimal
from typing import Any

from estimator.labour.network import MINUTES, waits_of
from estimator.labour.schedule import Day
from estimator.pipeline import Estimate

Row = dict[str, Any]
_FINISHING = ("casing", "openings", "fill", "seal", "mask", "paint", "hand_over")


def clock(minute: int) -> str:
    """Return a minute of the day as a clock shows it."""
    return f"{minute // MINUTES}:{minute % MINUTES:02}"


def _waits(estimate: Estimate) -> dict[str, Decimal]:
    return waits_of(estimate.catalogue.labour, estimate.catalogue.practice)


def day_rows(estimate: Estimate) -> list[Row]:
    """Return the days, each with who does what when, and what dries afterwards and for how long."""
    waits, days = _waits(estimate), estimate.scope.schedule.days
    last = {stint.label: (day.number, n) for day in days for n, stint in enumerate(day.stints)}
    return [
        {
            "number": day.number,
            "date": day.date,
            "stints": [
                {
                    "label": s.label,
                    "stage": s.stage,
                    "from": clock(s.start),
                    "to": clock(s.end),
                    "people": s.people,
                    "wait": _hours(waits.get(s.task)) if last[s.label] == (day.number, n) else "",
                }
                for n, s in enumerate(day.stints)
            ],
            "where": _where(day),
        }
        for day in days
    ]


def _where(day: Day) -> str:
    places = [
        name
        for stage, name in (("shop", "shop"), ("site", "site"))
        if any(s.stage == stage for s in day.stints)
    ]
    return " and ".join(places) if places else "nobody works: drying"


def _hours(hours: Decimal | None) -> str:
    return f"{hours.normalize():f} h" if hours else ""


def finishing_steps(estimate: Estimate) -> list[Row]:
    """Return the steps from casings to handing over, in order, each with the wait after it."""
    waits = _waits(estimate)
    found: dict[str, Row] = {}
    for day in estimate.scope.schedule.days:
        for s in day.stints:
            if s.task in _FINISHING:
                wait = _hours(waits.get(s.task))
                found.setdefault(s.label, {"label": s.label, "day": day.number, "wait": wait})
                found[s.label]["day"] = day.number
    return sorted(found.values(), key=lambda row: row["day"])
