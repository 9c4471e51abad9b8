"""Why a line is what it is: its trail, the rule, what planned it, and what is bought."""

from typing import Any

from estimator.calc.tables import Table
from estimator.core.errors import refuse
from estimator.core.units import format_length
from estimator.pipeline import Estimate
from estimator.takeoff.contents import Line


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
