"""The estimate in figures, as the program's JSON answer gives them.

Why a line is what it is: its trail, the rule, what planned it, and what is bought.
"""

from decimal import Decimal
from typing import Any

from estimator.calc.tables import Table
from estimator.core.errors import refuse
from estimator.core.units import format_length
from estimator.labour.network import MINUTES
from estimator.pipeline import Estimate, Scope
from estimator.pricing.totals import Totals
from estimator.takeoff.contents import Line


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
        "trips": plan.trips,
        "returns": plan.returns,
        "standing_hours": Decimal(plan.standing) / MINUTES,
        "first": dates[0] if dates else None,
        "last": dates[-1] if dates else None,
        "order_by": dict(scope.orders),
    }


def _totals(totals: Totals) -> dict[str, Any]:
    keys = (
        *("materials", "labour", "other", "direct", "overhead", "contingency", "at_cost", "cost"),
        *("full_price", "discount", "rounding", "price", "tax", "total", "margin", "markup"),
    )
    parts = [{"label": p.label, "when": p.when, "amount": p.amount} for p in totals.payments]
    profits = {"profit": totals.profit_asked, "profit_left": totals.profit}
    return {key: getattr(totals, key) for key in keys} | profits | {"payments": parts}


def explained(estimate: Estimate, wanted: str) -> dict[str, Any]:
    """Return the lines whose key is or contains `wanted`, each with its whole trail.

    Raises:
        InputError: no line's key contains `wanted`.
    """
    lines = estimate.scope.takeoff.lines
    exact = [line for line in lines if line.key == wanted]
    found = exact or [line for line in lines if wanted == "list" or wanted.casefold() in line.key.casefold()]
    if not found:
        known = ", ".join(line.key for line in lines)
        raise refuse(wanted, "the job has no such line", f"Its lines are: {known}.")
    return {"lines": [_line(estimate, line) for line in found]}


def _line(estimate: Estimate, line: Line) -> dict[str, Any]:
    takeoff = estimate.scope.takeoff
    quantity = next(q for q in takeoff.quantities() if q.key == line.key)
    row = takeoff.lines.index(line)
    fresh = takeoff.tables["lines"].value("fresh", row)
    return {
        "key": line.key,
        "description": line.description,
        "unit": line.unit,
        "rule": line.rule,
        "net": quantity.net,
        "waste": quantity.waste,
        "bought": quantity.bought,
        "how": "bought as the cutting plan decided" if fresh else "bought as net plus waste, in whole packs",
        "trail": [
            {"source": t.source, "what": t.what, "quantity": t.quantity} for t in takeoff.trail(line.key)
        ],
        "purchases": _purchases(takeoff.tables["purchases"], line.key),
        "steps": _steps(estimate, line),
    }


def _purchases(table: Table, key: str) -> list[dict[str, Any]]:
    return [
        {"item": table.value("item", i), "units": table.value("units", i), "cost": table.value("cost", i)}
        for i, own in enumerate(table["line"].values)
        if own == key and table.value("units", i)
    ]


def _steps(estimate: Estimate, line: Line) -> list[str]:
    """Return the cutting plan behind a line, in words."""
    plans, display = estimate.scope.plans, estimate.units.display
    _, product, *rest = line.key.split(":")
    if product in plans.sticks and line.packs is not None:
        stick_plan = plans.sticks[product]
        pieces = sum(len(s.pieces) for s in stick_plan.sticks)
        proof = "the least possible" if stick_plan.proven else f"no plan costs under {stick_plan.bound:.2f}"
        return [f"{pieces} pieces on {len(stick_plan.sticks)} sticks for {stick_plan.cost:.2f}; {proof}"]
    if product in plans.boards:
        board_plan = plans.boards[product]
        return [
            f"{len(board_plan.tiles)} pieces from {board_plan.boards} boards; at least {board_plan.bound}"
        ]
    if rest:
        roll = plans.rolls[product, rest[0]]
        length, bound = format_length(roll.length, display), format_length(roll.bound, display)
        return [f"{len(roll.placed)} pieces in {length} of cloth; at least {bound}"]
    return []
