"""What the work of options costs more than the base's, worked out again as rates and wages move."""

from collections.abc import Mapping

from estimator.calc.expressions import cents, find
from estimator.calc.tables import Draft, Table
from estimator.labour.tasks import Labour


def option_hours(base: Labour, options: Mapping[str, tuple[str, Labour]], currency: str) -> Table:
    """Return one row an option and a task: hours and spread of a unit, and what they cost.

    Args:
        base: the base's labour.
        options: title and labour of each option, by name; how much work there is stays as found.
        currency: ISO 4217.
    """
    basis, _, rates = base.inputs
    lines, parts, minutes = base.workings[1], basis["pert_parts"].at(), basis["min_per_hour"].at()
    tasks = [str(key) for key in lines["key"].values]
    cases = [(name, title, labour.workings[1]) for name, (title, labour) in options.items()]
    note = "Quantities are as the program found them; minutes, difficulty and wages are those of the base."
    draft = Draft("option_hours", "What the work of options costs more than the base", note=note)
    draft.keys([f"{name}|{task}" for name, _, _ in cases for task in tasks])
    draft.label("option_title", "Option", [title for _, title, _ in cases for _ in tasks])
    draft.label("labour_task", "Task", [v for _ in cases for v in lines["labour_task"].values])
    draft.link("case", "Case", [name for name, _, _ in cases for _ in tasks])
    task = draft.link("task", "Task", tasks * len(cases))
    was = draft.formula("base_quantity", "Base", "", find(lines["quantity"], lines["key"], task))
    now = draft.decided("option_quantity", "Option", "", [v for *_, t in cases for v in t["quantity"].values])
    hard = draft.formula("hard", "Difficulty", "", find(rates["difficulty"], rates["key"], task))
    expected = draft.formula(
        "expected", "Expected", "min", find(lines["expected"], lines["key"], task), places=3
    )
    low = draft.formula("low", "Low", "min", find(rates["low"], rates["key"], task), places=3)
    high = draft.formula("high", "High", "min", find(rates["high"], rates["key"], task), places=3)
    each = draft.formula("hours_each", "Hours, a unit", "h", hard * expected / minutes, places=4)
    apart = draft.formula(
        "spread_each", "Spread, a unit", "h", hard * (high - low) / parts / minutes, places=4
    )
    money = f"{currency}/h"
    rate = draft.formula("hour_cost", "Cost of an hour", money, find(lines["hour_cost"], lines["key"], task))
    base_cost = draft.formula("base_cost", "Cost in the base", currency, cents(was * each * rate))
    cost = draft.formula("option_cost", "Cost in the option", currency, cents(now * each * rate))
    draft.formula("more", "More than base", currency, cost - base_cost)
    spread = draft.formula("cost_spread", "Spread of cost", currency, now * apart * rate)
    draft.formula("square", "Its square", f"{currency}²", spread * spread)
    return draft.table()
