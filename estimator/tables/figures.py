"""The estimate in figures, as the program's JSON answer gives them."""

from typing import Any

from estimator.core.units import format_length
from estimator.pipeline import Estimate, Scope
from estimator.pricing.totals import Totals


def figures(estimate: Estimate) -> dict[str, Any]:
    """Return frames, quantities, labour, days and totals of the base, and the totals of each option.

    Lengths are given as the job displays them and in whole nanometres; money in the job's currency.
    """
    header = estimate.job.header
    names = ("base", *estimate.options)
    return {
        "number": header.number,
        "currency": header.currency,
        "units": estimate.units.display,
        "frames": _frames(estimate.scope, estimate),
        "quantities": _quantities(estimate.scope),
        "labour": [{"task": task, "hours": hours} for task, hours in estimate.scope.labour.hours.items()],
        "schedule": _schedule(estimate.scope),
        "totals": _totals(estimate.totals),
        "options": {
            name: _totals(estimate.pricing.totals(n)) for n, name in enumerate(names) if name != "base"
        },
    }


def _frames(scope: Scope, estimate: Estimate) -> list[dict[str, Any]]:
    display = estimate.units.display
    return [
        {
            "name": f.name,
            "host": f.host,
            "kind": f.kind,
            "width": format_length(f.width, display),
            "height": format_length(f.height, display),
            "depth": format_length(f.depth, display),
            "width_nm": f.width,
            "height_nm": f.height,
            "depth_nm": f.depth,
        }
        for f in scope.layout.frames
    ]


def _quantities(scope: Scope) -> list[dict[str, Any]]:
    return [
        {
            "key": q.key,
            "description": q.description,
            "unit": q.unit,
            "net": q.net,
            "waste": q.waste,
            "bought": q.bought,
            "cost": q.cost,
        }
        for q in scope.takeoff.quantities()
    ]


def _schedule(scope: Scope) -> dict[str, Any]:
    """Return the days; dates, and the last day to order each item on, only where a start is agreed."""
    plan = scope.schedule
    dates = [day.date for day in plan.days if day.date is not None]
    return {
        "days": len(plan.days),
        "days_in_shop": plan.days_in_shop,
        "days_on_site": plan.days_on_site,
        "visits": plan.visits,
        "first": dates[0] if dates else None,
        "last": dates[-1] if dates else None,
        "order_by": dict(scope.orders),
    }


def _totals(totals: Totals) -> dict[str, Any]:
    keys = (
        *("materials", "labour", "other", "direct", "overhead", "contingency", "cost", "profit"),
        *("discount", "rounding", "price", "tax", "total", "margin", "markup"),
    )
    parts = [{"label": p.label, "when": p.when, "amount": p.amount} for p in totals.payments]
    return {key: getattr(totals, key) for key in keys} | {"payments": parts}
