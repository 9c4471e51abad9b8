"""Why the hours, the days, the trips and the price are what they are; for `battenbook explain`."""

from collections.abc import Iterator
from typing import Any

from estimator.calc.expressions import All, Call
from estimator.calc.tables import Table
from estimator.pipeline import Estimate
from estimator.pricing.totals import FIGURES

Row = dict[str, Any]


def answered(estimate: Estimate, asked: str) -> dict[str, Any] | None:
    """Return the answer to 'hours', 'days', 'visits' or 'trips', 'price', a task's key; None for others.

    Hours are of one person, rates in minutes a unit of the driver, the work of a day in minutes by the clock,
    prices in the job's currency, before tax where nothing else is said.
    """
    tasks = [str(key) for key in _labour(estimate)["key"].values]
    if asked == "hours":
        return {"tasks": [_task(estimate, n) for n in range(len(tasks))]}
    if asked in tasks:
        return {"tasks": [{**_task(estimate, tasks.index(asked)), "from": list(_places(estimate, asked))}]}
    if asked == "price":
        totals = estimate.totals
        return {"price": [{"key": k, "label": label, "amount": getattr(totals, k)} for k, label in FIGURES]}
    return _days(estimate) if asked in {"days", "trips", "visits"} else None


def _labour(estimate: Estimate) -> Table:
    return estimate.scope.labour.workings[1]


def _task(estimate: Estimate, row: int) -> Row:
    """Return a task's row: quantity × expected minutes × difficulty / 60, in hours of one person."""
    table = _labour(estimate)
    own = {"task": "key", "label": "labour_task", "stage": "where", "driven_by": "driver"}
    same = ("quantity", "low", "likely", "high", "expected", "difficulty", "crew", "hours")
    columns = {**own, **{key: key for key in same}}
    found = {name: table.value(column, row) for name, column in columns.items()}
    drivers = estimate.scope.takeoff.tables["drivers"]
    units = dict(zip(drivers["description"].values, drivers["unit"].values, strict=True))
    return {**found, "unit": units[found["driven_by"]]}


def _places(estimate: Estimate, task: str) -> Iterator[Row]:
    """Yield frame by frame, or strip by strip, what drives a task; nothing for what is counted as a whole."""
    driver = next(t.driver for t in estimate.catalogue.labour.tasks if t.key == task)
    tables = estimate.scope.takeoff.tables
    (expr,) = tables["driver_sums"][driver].exprs
    match expr:
        case Call("SUM", (All(field),)) if field.table in tables:
            table = tables[field.table]
            rows = zip(table["key"].values, field.values, strict=True)
            yield from ({"source": key, "quantity": amount} for key, amount in rows if amount)


def _days(estimate: Estimate) -> dict[str, Any]:
    plan = estimate.scope.schedule
    return {
        "days": [
            {"day": day.number, "date": day.date, "stage": stage,
             "work": [{"label": s.label, "people": s.people, "minutes": s.end - s.start} for s in day.stints
                      if s.stage == stage]}
            for day in plan.days
            for stage in ("shop", "site")
            if day.at(stage)
        ],
        "trips": plan.trips, "days_on_site": plan.days_on_site, "returns": plan.returns,
        "longest_chain": list(plan.critical),
    }  # fmt: skip
