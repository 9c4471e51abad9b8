"""The list of materials: net, waste, need, the packs to buy and what they cost.

What a cutting plan decided (sticks by length, boards, length of cloth) is bought as planned while the live
net is the one the plan was made for. Once it differs, and wherever no plan is made, the need is net x (1 +
waste). Packs are ``ROUNDUP(need / content)``, in the cheapest of three mixes: all in the largest pack, all
but the last in the largest and the rest in the smallest, or all in the smallest.

Prices that a cutting plan weighed: where one moves, another plan may be cheaper, and a check says so.

The plan that was made still cuts every piece; what it buys stays as it is until the program is run again.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from estimator.calc.expressions import (
    Expr,
    Field,
    call,
    cents,
    if_,
    round_to,
    settled,
    total,
    total_where,
    whole_up,
)
from estimator.calc.tables import Draft, Table
from estimator.catalogue.records import Catalogue, Charged, Item
from estimator.core.money import rounded
from estimator.cutting.room import RoomPlans
from estimator.takeoff.contents import Line

PACK: Charged = "pack"
NEED_PLACES = 9
"""A board of a pack is 0.74322432 m2: need and packs are compared as whole boards, to the sixth place."""


@dataclass(frozen=True, slots=True)
class Trails:
    """The three trails of the takeoff."""

    frames: Table
    strips: Table
    counts: Table

    def quantity(self, table: Draft, key: Field) -> Expr:
        """Return the sum of everything that adds to the line in this row, one column a trail."""
        parts = [
            table.formula(name, label, "", total_where(t["quantity"], t["line"], key), places=2)
            for name, label, t in (
                ("from_frames", "From frames", self.frames),
                ("from_strips", "From strips", self.strips),
                ("from_counts", "As counted", self.counts),
            )
        ]
        return parts[0] + parts[1] + parts[2]


def pack_sizes(line: Line, prices: Table) -> tuple[str, str]:
    """Return the keys of the largest and the smallest pack of a line, by what they hold."""
    contents = dict(zip(prices["key"].values, prices["content"].values, strict=True))
    ordered = sorted(line.items, key=lambda i: (contents[i.key], i.key))
    return ordered[-1].key, ordered[0].key


def materials(lines: tuple[Line, ...], trails: Trails, waste: Table) -> Table:
    """Return the list of materials, one row a line, from what adds to it to what is needed.

    Args:
        lines: what is bought.
        trails: what adds to each line.
        waste: shares by group.
    """
    table = Draft("lines", "Materials")
    key = table.keys([line.key for line in lines], "Line")
    table.label("description", "Description", [line.description for line in lines])
    table.label("section", "Section", [line.items[0].section for line in lines])
    table.label("unit", "Unit", [line.unit for line in lines])
    table.label("rule", "Rule", [line.rule for line in lines])
    group = table.link("waste_group", "Waste as", [line.waste for line in lines])
    net = table.formula("net", "Net", "", settled(trails.quantity(table, key), 4), places=2)
    share = call("IFERROR", waste.of("share", group), 0)
    wasted = table.formula("waste", "Waste", "%", share, places=1)
    planned = [Decimal(line.planned) for line in lines]
    is_planned = table.decided("planned", "Cutting plan made (1 = yes)", "", planned, places=0)
    by_packs = [Decimal(line.packs is not None) for line in lines]
    given = table.decided("by_packs", "Plan gives packs (1 = yes)", "", by_packs, places=0)
    made_for = [n if p else None for n, p in zip(net.values, planned, strict=True)]
    plan_net = table.decided("planned_for", "Plan made for", "", made_for, places=2)
    wants = [rounded(line.plan_need, NEED_PLACES) if line.plan_need is not None else None for line in lines]
    plan_need = table.decided("plan_need", "Plan needs", "", wants, places=2)
    same = round_to(net - plan_net, 3).eq(0)
    in_date = if_(call("AND", is_planned.eq(1), same), 1, 0)
    fresh = table.formula("fresh", "Plan in date (1 = yes)", "", in_date, places=0)
    table.formula("as_planned", "Packs as planned (1 = yes)", "", fresh * given, places=0)
    table.formula("stale", "Plan out of date (1 = yes)", "", is_planned - fresh, places=0)
    ruled = call("AND", fresh.eq(1), plan_need.gt(0))
    wanted = if_(ruled, plan_need, round_to(net * (1 + wasted), 6))
    table.formula("need", "Need", "", wanted, places=2)
    return table.table()


def pack_choice(lines: tuple[Line, ...], table: Table, tables: tuple[Table, Table], money: str) -> Table:
    """Return the cheapest mix of the largest and the smallest pack, row by row beside the materials.

    Args:
        lines: what is bought.
        table: the list of materials.
        tables: the price list, and the least that is sold of each item.
        money: ISO 4217.
    """
    draft = Draft("packs", "The cheapest packs")
    key = draft.keys([line.key for line in lines], "Line")
    draft.label("description", "Description", [line.description for line in lines])
    need = draft.formula("need", "Need", "", table.of("need", key), places=2)
    add_packs(draft, lines, need, tables, money)
    return draft.table()


def add_packs(
    draft: Draft, lines: Sequence[Line], need: Field, tables: tuple[Table, Table], money: str
) -> None:
    """Add the cheapest mix of packs to a table with a row a line.

    Args:
        draft: the table, begun.
        lines: what is bought, row by row.
        need: how much of it, row by row.
        tables: the price list, and the least that is sold of each item.
        money: ISO 4217.
    """
    prices, steps = tables
    sizes = [pack_sizes(line, prices) for line in lines]
    large = draft.link("large", "Largest pack", [s[0] for s in sizes])
    small = draft.link("small", "Smallest pack", [s[1] for s in sizes])

    def of(field: str, item: Field) -> Expr:
        return steps.of(field, item)

    def column(key: str, label: str, expr: Expr, unit: str = "ea") -> Field:
        return draft.formula(key, label, unit, expr, places=2 if unit == money else 0)

    def filled(quantity: Expr, step: Field) -> Expr:
        return call("IFERROR", whole_up(quantity / step), 0)

    step_large = draft.formula("large_step", "Largest holds", "", of("holds", large), places=3)
    step_small = draft.formula("small_step", "Smallest holds", "", of("holds", small), places=3)
    price_large = column("large_price", "Price of largest", of("costs", large), money)
    price_small = column("small_price", "Price of smallest", of("costs", small), money)
    all_large = column("all_large", "All largest", filled(need, step_large))
    most = column("most_large", "All but the last", call("MAX", all_large - 1, 0))
    left = call("MAX", need - most * step_large, 0)
    rest = column("rest_small", "Rest, as smallest", filled(left, step_small))
    all_small = column("all_small", "All smallest", filled(need, step_small))
    costs = (
        column("cost_large", "Cost, all largest", settled(all_large * price_large, 4), money),
        column("cost_mix", "Cost, mixed", settled(most * price_large + rest * price_small, 4), money),
        column("cost_small", "Cost, all smallest", settled(all_small * price_small, 4), money),
    )
    least = column("cost_least", "Least", call("MIN", *costs), money)
    one = column("use_large", "Use all largest", if_(costs[0].eq(least), 1, 0))
    two = column("use_mix", "Use the mix", if_(call("AND", one.eq(0), costs[1].eq(least)), 1, 0))
    larges = column("packs_large", "Largest packs", one * all_large + two * most)
    smalls = column("packs_small", "Smallest packs", two * rest + (1 - one - two) * all_small)
    held = larges * step_large + smalls * step_small
    draft.formula("part", "Part of them used up", "", call("IFERROR", need / held, 0), places=4)


def purchases(lines: tuple[Line, ...], tables: tuple[Table, Table], prices: Table, money: str) -> Table:
    """Return what is bought: one row a line and pack size, as planned or by the mix.

    Args:
        lines: what is bought.
        tables: the list of materials, and the cheapest packs.
        prices: the price list.
        money: ISO 4217.
    """
    table, mix = tables
    rows = [(line, item) for line in lines for item in line.items]
    out = Draft("purchases", "Purchases")
    out.keys([f"{line.key}|{item.key}" for line, item in rows])
    out.label("description", "Description", [item.description for _, item in rows])
    of_line = out.link("line", "Line", [line.key for line, _ in rows])
    of_item = out.link("item", "Item", [item.key for _, item in rows])
    packs = [Decimal((line.packs or {}).get(item.key, 0)) for line, item in rows]
    planned = out.decided("planned", "Packs by the cutting plan", "ea", packs, places=0)

    def of(field: str, held: Table = mix) -> Expr:
        return held.of(field, of_line)

    fresh = out.formula("fresh", "As planned (1 = yes)", "", of("as_planned", table), places=0)
    large = out.formula(
        "as_large", "Packs as largest", "ea", if_(of_item.eq(of("large")), of("packs_large"), 0), places=0
    )
    small = out.formula(
        "as_small", "Packs as smallest", "ea", if_(of_item.eq(of("small")), of("packs_small"), 0), places=0
    )
    count = out.formula("packs", "Packs", "ea", fresh * planned + (1 - fresh) * (large + small), places=0)

    def priced(field: str) -> Expr:
        return call("IFERROR", prices.of(field, of_item), 0)

    units = out.formula("units", "Buy units", "", count * priced("sold_in"), places=2)
    out.formula("bought", "Bought", "", settled(units * priced("content"), 4), places=2)
    price = out.formula("price", "Price", money, priced("price"))
    cost = out.formula("cost", "Cost", money, cents(units * price))
    way = out.formula("by", "Charged by", "", call("IFERROR", prices.of("charged", of_item), PACK))
    used = out.formula("used", "Part charged", "", if_(way.eq("use"), of("part"), 1), places=4)
    out.formula("charged", "Charged to the job", money, cents(cost * used))
    out.formula("missing", "No price (1 = yes)", "", if_(price.gt(0), 0, 1), places=0)
    return out.table()


def costs(table: Table, bought: Table, sections: tuple[str, ...], money: str) -> tuple[Table, Table, Table]:
    """Return what each line and each section costs, and the form with the materials' total."""
    per_line = Draft("line_costs", "What each line costs")
    key = per_line.keys([str(k) for k in table["key"].values], "Line")
    per_line.label("description", "Description", table["description"].values)
    section = per_line.label("section", "Section", table["section"].values)
    per_line.label("unit", "Unit", table["unit"].values)
    packs = ("packs", "packs", "Packs", "ea", 0)
    columns = (packs, ("bought", "bought", "Bought", "", 2), ("cost", "charged", "Cost", money, 2))
    for field, of, label, unit, places in columns:
        per_line.formula(field, label, unit, total_where(bought[of], bought["line"], key), places=places)
    bought_enough = round_to(per_line.fields[-2] - table.of("net", key), 3).ge(0)
    per_line.formula("short", "Short (1 = yes)", "", if_(bought_enough, 0, 1), places=0)
    lines = per_line.table()
    by_section = Draft("sections", "Cost by section")
    name = by_section.names(sections, "Section")
    by_section.formula("cost", "Cost", money, total_where(lines["cost"], section, name))
    parts = by_section.table()
    form = Draft("materials_form", "Materials in all", "across")
    form.formula("materials_total", "Materials", money, total(parts["cost"]))
    return lines, parts, form.table()


def _weighed(plans: RoomPlans, catalogue: Catalogue) -> tuple[Item, ...]:
    """Return what a plan weighed: sizes of stick where there is a choice, and boards against their pieces."""
    sticks = (i for p in plans.sticks if len(sizes := catalogue.sizes(p)) > 1 for i in sizes)
    return (*sticks, *(i for p in plans.boards for i in catalogue.sizes(p)))


def plan_prices(plans: RoomPlans, catalogue: Catalogue, prices: Table) -> Table:
    """Return price and content of each size that a cutting plan weighed, as it was and as it is now.

    Args:
        plans: the cutting plans.
        catalogue: for the sizes of each product.
        prices: the price list of the job.
    """
    items = [i.key for i in _weighed(plans, catalogue)]
    rows = [prices["key"].values.index(key) for key in items]
    table = Draft("plan_prices", "Prices that the cutting plans were made by")
    key = table.keys(items, "Item")
    table.label("description", "Description", [prices["description"].values[i] for i in rows])
    money = prices["price"].unit
    found = table.decided("found", "Price then", money, [prices["price"].values[i] for i in rows])
    held = table.decided("held", "Held then", "", [prices["content"].values[i] for i in rows], places=3)
    now = call("IFERROR", prices.of("price", key), 0)
    holds = call("IFERROR", prices.of("content", key), 0)
    price = table.formula("price", "Price now", money, now)
    content = table.formula("content", "Holds now", "", holds, places=3)
    as_then = call("AND", price.eq(found), content.eq(held))
    table.formula("differs", "Changed (1 = yes)", "", if_(as_then, 0, 1), places=0)
    return table.table()
